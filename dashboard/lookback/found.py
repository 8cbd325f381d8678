"""What a look-back found, as plain numbers that travel from the process that reckons to the page that speaks; pure."""

from typing import Literal

from pydantic import TypeAdapter
from pydantic.dataclasses import dataclass

Verdict = Literal["refused", "no_air", "no_readings", "short", "ordinary", "ranked", "stands_out", "not_more"]


@dataclass(frozen=True, slots=True)
class RankFound:
    """One exposure among the others; see `ranks.Rank`."""

    name: str
    value: float
    usual: float
    low: float
    high: float
    share: float
    side: Literal["more", "less"]


@dataclass(frozen=True, slots=True)
class EvidenceFound:
    """What the episodes say together; see `episodes.Evidence`. `wheels`: how many wheels showed them."""

    names: tuple[str, ...]
    p: float
    p_of: tuple[float, ...]
    episodes: int
    wheels: int
    together: bool
    stands_out: bool


@dataclass(frozen=True, slots=True)
class CareFound:
    """The longest time without a care within the window, and the usual of such windows [d]; None: not known."""

    care: str
    longest_d: float
    usual_d: float | None


@dataclass(frozen=True, slots=True)
class NoteThen:
    """A rind note that came after an earlier spell."""

    code: str
    kind: str
    seen_ms: int


@dataclass(frozen=True, slots=True)
class Like:
    """An earlier or later spell of like air, how many wheels stood in it, and what was noted on them."""

    from_ms: int
    to_ms: int
    distance: float
    wheels: int
    notes: tuple[NoteThen, ...]


@dataclass(frozen=True, slots=True)
class Course:
    """The air about the window by the hour [ms, degC, %]; None where nothing is known."""

    start_ms: tuple[int, ...] = ()
    temperature_c: tuple[float | None, ...] = ()
    humidity_pct: tuple[float | None, ...] = ()


@dataclass(frozen=True, slots=True)
class Found:
    """All that a look-back found.

    Args:
        kind: of the note. wheel_id, code: the wheel. place: where it stood for most of the window, "" if nobody said.
        share_there: for how much of the window it stood there, 0..1. hidden: a covering kept the air off.
        from_ms, to_ms: the window. clean_ms: when last seen clean, None where nobody knows. seen_ms: first seen.
        short_d, long_d: how long such a note takes to show [d].
        style: whose limits were taken, "" for those of the place. limits: damp [%], dry [%], warm [degC].
        record_d: how long the place has a record. season: which one both sides come from, "" for the whole record.
        known: share of the window that readings speak for.
        others, apart: how many windows it was compared with, and how many of them do not overlap each other.
        cases: how many episodes of this kind there are, this one among them.
    """

    verdict: Verdict
    kind: str
    wheel_id: str
    code: str
    place: str
    share_there: float
    hidden: bool
    from_ms: int
    to_ms: int
    clean_ms: int | None
    seen_ms: int
    short_d: float
    long_d: float
    style: str
    limits: tuple[float | None, float | None, float | None]
    record_d: float = 0.0
    season: str = ""
    known: float = 0.0
    ranks: tuple[RankFound, ...] = ()
    others: int = 0
    apart: int = 0
    cases: int = 0
    evidence: EvidenceFound | None = None
    care: tuple[CareFound, ...] = ()
    likes: tuple[Like, ...] = ()
    course: Course = Course()


FOUND = TypeAdapter(Found)
"""Turns it into JSON and back."""
