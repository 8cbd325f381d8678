"""Moving wheels to another place: what to say beforehand, the entries, and taking it back; pure but for the entries.

How long a wheel from the cold sweats is computed in collector.rules.wheel_heat; what to do about it is common practice.
"""

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from collector.records.facts import Place
from collector.rules.wheel_heat import LEAST_WHEEL_KG, MOST_WHEEL_KG, USUAL_WHEEL_KG, Sweating, sweating_after_move
from dashboard.wheels.bodies.doings import Moved, Withdrawn
from dashboard.wheels.book import Wheel
from dashboard.wheels.company import BadCompany, Neighbour, bad_company
from dashboard.wheels.entries import NewEntry
from dashboard.wheels.kinds.coverings import COVERINGS
from dashboard.wheels.model import Entry

A_MOMENT_H = 0.25  # sweating that is over before the door is shut is not worth a word; our choice
ADVICE = (
    "Give each wheel room, so that air reaches it all round.",
    "Do not wrap, bag or wax it before its rind is dry again.",
    "Turn it when the top is dry: the side on the board dries last.",
)
COVERED_ADVICE = ("The water comes on the outside of the bag or wax: wipe it off before it runs under a seam.",)


@dataclass(frozen=True, slots=True)
class AirNow:
    """The air of a place as it is now; None where it is not known."""

    temperature_c: float | None = None
    humidity_pct: float | None = None


@dataclass(frozen=True, slots=True)
class MoveWord:
    """What is said before a move: whether and how long the wheels will sweat, what to do, and bad company."""

    sweating: Sweating | None
    advice: tuple[str, ...]
    company: tuple[BadCompany, ...]


def before_moving(
    moving: Sequence[Wheel],
    there: Sequence[Wheel],
    rinds: Mapping[str, str],
    from_air: AirNow,
    to_air: AirNow,
) -> MoveWord:
    """What to say before wheels are moved.

    Args:
        moving: the wheels; those that stand in `there` already are no news to each other.
        there: the living wheels of the place they come to.
        rinds: rind of a style by style id.
        from_air: of the place they come from; its temperature is taken as theirs.
        to_air: of the place they come to.
    """
    sweating = _sweating(moving, from_air, to_air)
    staying = [w for w in there if w.id not in {m.id for m in moving}]
    company = bad_company([_neighbour(w, rinds) for w in moving], [_neighbour(w, rinds) for w in staying])
    return MoveWord(sweating, _advice(moving) if sweating else (), tuple(company))


def _sweating(moving: Sequence[Wheel], from_air: AirNow, to_air: AirNow) -> Sweating | None:
    """That of the heaviest wheel, which sweats longest; None if nothing sweats or the air is not known."""
    if from_air.temperature_c is None or to_air.temperature_c is None or not to_air.humidity_pct or not moving:
        return None
    kg = max(((w.net_g or 0) / 1_000 for w in moving), default=0) or USUAL_WHEEL_KG
    kg = min(max(kg, LEAST_WHEEL_KG), MOST_WHEEL_KG)
    found = sweating_after_move(from_air.temperature_c, to_air.temperature_c, min(to_air.humidity_pct, 100.0), kg)
    return found if found.hours >= A_MOMENT_H else None


def _advice(moving: Sequence[Wheel]) -> tuple[str, ...]:
    tight = [COVERINGS[w.covering].air_free for w in moving if w.covering in COVERINGS]
    if tight and all(tight):
        return COVERED_ADVICE
    return ADVICE + (COVERED_ADVICE if any(tight) else ())


def sweating_words(sweating: Sweating) -> str:
    """How long wheels will sweat, as a sentence."""
    if math.isinf(sweating.hours):
        return "They will sweat for as long as that air is saturated."
    about = _hours(sweating.hours)
    least, most = _hours(sweating.hours_least), _hours(sweating.hours_most)
    span = f" ({least} to {most})" if least != most else ""
    return f"They come from the cold and will sweat for about {about} h{span}."


def _hours(hours: float) -> str:
    return f"{max(round(hours), 1)}" if hours >= 1.5 else f"{max(round(hours * 2) / 2, 0.5):g}"


def _neighbour(wheel: Wheel, rinds: Mapping[str, str]) -> Neighbour:
    rind = rinds.get(wheel.style_id or "", "")
    return Neighbour(wheel.id, wheel.code, rind, wheel.covering, frozenset(wheel.notes_at))


def within(places: Iterable[Place], place_id: str) -> set[str]:
    """A place and all that lies in it: a cave's shelves, a shelf's boxes."""
    known = list(places)
    found = {place_id}
    while True:
        more = {p.id for p in known if p.parent_id in found} - found
        if not more:
            return found
        found |= more


def move_entries(
    moving: Sequence[Wheel],
    place_id: str,
    *,
    done_at: datetime,
    make_id: Callable[[], str],
    zone: str = "",
    spot: str = "",
    typed_time: bool = False,
) -> list[NewEntry]:
    """One entry for each wheel, all of one group, so that one touch takes the move back."""
    group_id = make_id()
    return [
        NewEntry(
            id=make_id(),
            wheel_id=wheel.id,
            place_id=place_id,
            group_id=group_id,
            done_at=done_at,
            zone=zone,
            typed_time=typed_time,
            body=Moved(spot=spot, position=wheel.position),
        )
        for wheel in moving
    ]


def undo_entries(
    group: Iterable[Entry], *, done_at: datetime, make_id: Callable[[], str], zone: str = ""
) -> list[NewEntry]:
    """Entries that take back what was entered together: a move, a shelf turned, one care of one wheel."""
    group_id = make_id()
    return [
        NewEntry(
            id=make_id(),
            wheel_id=entry.wheel_id,
            group_id=group_id,
            done_at=done_at,
            zone=zone,
            replaces=entry.id,
            body=Withdrawn(),
        )
        for entry in group
    ]
