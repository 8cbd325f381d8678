"""Dated facts as values, and which of them hold when; pure.

A fact holds from `valid_from_at` until the next one of its subject. It is known from `known_from_at`. Of two that
hold from the same time the one known later wins; one that is named by another's `replaces` is out.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Protocol, TypeVar

from collector.instants import to_ms


class Dated(Protocol):
    """What every dated fact has."""

    @property
    def id(self) -> str: ...
    @property
    def valid_from_at(self) -> datetime: ...
    @property
    def known_from_at(self) -> datetime: ...
    @property
    def replaces(self) -> str | None: ...


Fact = TypeVar("Fact", bound=Dated)


@dataclass(frozen=True, slots=True)
class Place:
    """Where air is of one kind. `kind` is one of cave, shelf, box, counter, outside."""

    id: str
    name: str
    kind: str
    parent_id: str | None = None
    position: int = 0
    assumed_temperature_c: float | None = None
    assumed_humidity_pct: float | None = None
    closed_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class Target:
    """The air that a place should have from a date on; a resting place has none."""

    id: str
    valid_from_at: datetime
    known_from_at: datetime
    place_id: str
    resting: bool = False
    temperature_low_c: float | None = None
    temperature_high_c: float | None = None
    humidity_low_pct: float | None = None
    humidity_high_pct: float | None = None
    grace_min: int = 120
    preset: str = ""
    replaces: str | None = None
    by: str = ""


@dataclass(frozen=True, slots=True)
class Placement:
    """Which place a probe (or one field of it) measured from a date on, and what there.

    `site` is air, surface or outside; `place_id` None means that it was taken away.
    """

    id: str
    valid_from_at: datetime
    known_from_at: datetime
    probe: str
    site: str
    place_id: str | None
    field: str | None = None
    replaces: str | None = None
    by: str = ""


@dataclass(frozen=True, slots=True)
class Lead:
    """The probe whose air a person chose to stand for the place; None: the median of the undoubted ones."""

    id: str
    valid_from_at: datetime
    known_from_at: datetime
    place_id: str
    probe: str | None
    replaces: str | None = None
    by: str = ""


@dataclass(frozen=True, slots=True)
class Calibration:
    """True value = offset + gain * reading, in the quantity's canonical unit, with standard uncertainty."""

    id: str
    valid_from_at: datetime
    known_from_at: datetime
    probe: str
    field: str
    offset: float
    gain: float
    uncertainty: float
    method: str
    points: tuple[tuple[float, ...], ...] = ()
    replaces: str | None = None
    by: str = ""


@dataclass(frozen=True, slots=True)
class FieldSetting:
    """What a field of a probe measures, in which unit, from a date on, where the message does not say."""

    id: str
    valid_from_at: datetime
    known_from_at: datetime
    probe: str
    field: str
    quantity: str | None = None
    unit: str = ""
    ignored: bool = False
    replaces: str | None = None
    by: str = ""


def as_of(facts: Iterable[Fact], known_at: datetime | None = None) -> list[Fact]:
    """The facts known at a time (None: now), without the replaced ones, in the order in which they take hold."""
    known = [f for f in facts if known_at is None or f.known_from_at <= known_at]
    replaced = {f.replaces for f in known}
    return sorted((f for f in known if f.id not in replaced), key=lambda f: (f.valid_from_at, f.known_from_at, f.id))


def holding(ordered: Sequence[Fact], at: datetime) -> Fact | None:
    """Which of one subject's facts, ordered by `as_of`, holds at a time."""
    found = None
    for fact in ordered:
        if fact.valid_from_at > at:
            break
        found = fact
    return found


def spans(ordered: Sequence[Fact], from_ms: int, to_ms: int) -> list[tuple[int, int, Fact | None]]:
    """A span cut into pieces in each of which one fact (or none) of a subject holds."""
    cuts: list[tuple[int, Fact | None]] = [(from_ms, None)]
    for fact in ordered:
        start = to_ms_clipped(fact, from_ms)
        if start >= to_ms:
            break
        if start == cuts[-1][0]:
            cuts.pop()
        cuts.append((start, fact))
    ends = [start for start, _ in cuts[1:]] + [to_ms]
    return [(start, end, fact) for (start, fact), end in zip(cuts, ends, strict=True) if end > start]


def to_ms_clipped(fact: Dated, from_ms: int) -> int:
    """When a fact takes hold, not before the span."""
    return max(from_ms, to_ms(fact.valid_from_at))


@dataclass(frozen=True, slots=True)
class Facts:
    """All dated facts of a household as known at one time."""

    places: dict[str, Place] = field(default_factory=dict)
    targets: dict[str, list[Target]] = field(default_factory=dict)
    placements: dict[tuple[str, str | None], list[Placement]] = field(default_factory=dict)
    leads: dict[str, list[Lead]] = field(default_factory=dict)
    calibrations: dict[tuple[str, str], list[Calibration]] = field(default_factory=dict)
    field_settings: dict[tuple[str, str], list[FieldSetting]] = field(default_factory=dict)

    def placements_of(self, probe: str, name: str) -> list[Placement]:
        """Where a field was placed: its own placements where it has any, else its probe's."""
        return self.placements.get((probe, name)) or self.placements.get((probe, None), [])

    def target_at(self, place_id: str, at: datetime) -> Target | None:
        return holding(self.targets.get(place_id, []), at)

    def placement_at(self, probe: str, name: str, at: datetime) -> Placement | None:
        return holding(self.placements_of(probe, name), at)

    def open_places(self) -> list[Place]:
        """Places that are not closed, in the household's order."""
        return sorted((p for p in self.places.values() if p.closed_at is None), key=lambda p: (p.position, p.name))
