"""Vat or cave? The same make in other places, the same place from other makes, sick of how many; pure.

rows -> square of counts -> exact test of the vat within each place, of the cave within each make
     -> then every other thing the sick wheels shared, with the many looks paid for
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

from dashboard.lookback.compared import (
    FACTORS,
    MAKE,
    PLACE,
    Comparison,
    WheelSeen,
    by_factor,
    compared,
    paid_for,
)

Verdict = Literal["vat", "cave", "both", "neither", "too_small", "nothing"]


@dataclass(frozen=True, slots=True)
class Cell:
    """Some wheels, by code: sick, clean, and not looked at since."""

    sick: tuple[str, ...] = ()
    clean: tuple[str, ...] = ()
    unseen: tuple[str, ...] = ()

    @property
    def looked_at(self) -> int:
        return len(self.sick) + len(self.clean)


@dataclass(frozen=True, slots=True)
class Square:
    """The other wheels around a sick one; the wheel itself, which raised the question, is in no cell."""

    same_both: Cell
    same_make: Cell
    same_place: Cell
    neither: Cell


@dataclass(frozen=True, slots=True)
class Answer:
    """What the book says about one note, or about a kind of note.

    Args:
        verdict: "too_small": the numbers cannot tell; "nothing": no other wheel was looked at.
        vats, caves: the comparisons of makes and of places; of one note, one each at the most.
        others: the other factors, those that stand out first.
        square: around one wheel; None for a kind of note. unseen: wheels that nobody looked at since.
    """

    verdict: Verdict
    vats: tuple[Comparison, ...]
    caves: tuple[Comparison, ...]
    others: tuple[Comparison, ...]
    square: Square | None
    unseen: int


def square_of(rows: Iterable[WheelSeen], wheel_id: str) -> Square:
    """The square around a wheel: same make or other, same place or other.

    Args:
        rows: wheels of the time that matters; one whose make or place is not known counts as another.
    Raises:
        ValueError: the wheel is not among the rows.
    """
    known = list(rows)
    own = _own(known, wheel_id)
    cells: dict[tuple[bool, bool], list[WheelSeen]] = {}
    for row in known:
        if row.wheel_id != wheel_id:
            cells.setdefault((_same_make(own, row), _same_place(own, row)), []).append(row)
    return Square(*(_cell(cells.get(key, ())) for key in ((True, True), (True, False), (False, True), (False, False))))


def about_note(rows: Iterable[WheelSeen], wheel_id: str, *, air_asked: bool = True) -> Answer:
    """Vat or cave, for the note on one wheel.

    Args:
        rows: wheels of the note's time, that wheel among them. It is left out of what is counted by wheels, and its
            make stays in what is counted by makes only with its other wheels: it is why we ask.
        air_asked: False for a look that is never a question of the air: the cave is then not compared.
    Returns:
        The answer; vat and cave are two looks, the other factors are a family of their own, each paid for.
    Raises:
        ValueError: the wheel is not among the rows.
    """
    known = list(rows)
    own = _own(known, wheel_id)
    others = [row for row in known if row.wheel_id != wheel_id]
    seen = [row for row in others if row.sick is not None]
    vats = compared(MAKE, [(row.place, _if(own.make, _same_make(own, row)), bool(row.sick)) for row in seen])
    here = [(row.make, _if(own.place, _same_place(own, row)), bool(row.sick)) for row in seen]
    sides = paid_for([*vats, *(compared(PLACE, here) if air_asked else ())])
    vats, caves = sides[: len(vats)], sides[len(vats) :]
    shared = [
        one
        for factor in FACTORS.values()
        for one in by_factor(others, factor)
        if one.value in own.shared.get(factor.name, ())
    ]
    square = square_of(known, wheel_id)
    return Answer(
        verdict=_verdict(others, vats, caves, air_asked=air_asked),
        vats=tuple(vats),
        caves=tuple(caves),
        others=tuple(sorted((one for one in paid_for(shared) if one.with_[1]), key=_rank)),
        square=square,
        unseen=sum(row.sick is None for row in others),
    )


def about_kind(rows: Iterable[WheelSeen], *, air_asked: bool = True) -> Answer:
    """Vat or cave, for every wheel with one kind of note: each make, each place, each other factor against the rest.

    Args:
        rows: all wheels of the time looked at. air_asked: as for one note.
    Returns:
        The answer; only makes, places and things with a sick wheel are in it, but every look is paid for.
    """
    known = list(rows)
    seen = [row for row in known if row.sick is not None]
    vats = compared(MAKE, [(row.place, {row.make} - {""}, bool(row.sick)) for row in seen])
    placed = [(row.make, row.places, bool(row.sick)) for row in seen] if air_asked else []
    sides = paid_for([*vats, *compared(PLACE, placed)])
    vats, caves = sides[: len(vats)], sides[len(vats) :]
    shared = [one for factor in FACTORS.values() for one in by_factor(known, factor)]
    return Answer(
        verdict=_verdict(known, vats, caves, air_asked=air_asked),
        vats=_with_sick(vats),
        caves=_with_sick(caves),
        others=_with_sick(paid_for(shared)),
        square=None,
        unseen=sum(row.sick is None for row in known),
    )


def _verdict(
    counted: Sequence[WheelSeen], vats: Sequence[Comparison], caves: Sequence[Comparison], *, air_asked: bool
) -> Verdict:
    if all(row.sick is None for row in counted):
        return "nothing"
    vat, cave = any(one.stands_out for one in vats), any(one.stands_out for one in caves)
    if vat or cave:
        return "both" if vat and cave else "vat" if vat else "cave"
    asked = (vats, caves) if air_asked else (vats,)
    return "neither" if all(any(one.p is not None for one in side) for side in asked) else "too_small"


def _rank(one: Comparison) -> tuple[float, str, str]:
    """What stands out first, what has nothing to be compared with last."""
    told = 2.0 if one.without[1] else 3.0
    return (told if one.adjusted is None else one.adjusted, one.factor, one.value)


def _own(rows: Sequence[WheelSeen], wheel_id: str) -> WheelSeen:
    for row in rows:
        if row.wheel_id == wheel_id:
            return row
    raise ValueError(f"wheel_id must be among the {len(rows)} rows, got {wheel_id}")


def _same_make(own: WheelSeen, row: WheelSeen) -> bool:
    return bool(own.make) and row.make == own.make


def _same_place(own: WheelSeen, row: WheelSeen) -> bool:
    return not set(row.places).isdisjoint(own.places)


def _if(value: str, holds: bool) -> tuple[str, ...]:
    return (value,) if holds else ()


def _cell(rows: Iterable[WheelSeen]) -> Cell:
    by: dict[bool | None, list[str]] = {True: [], False: [], None: []}
    for row in rows:
        by[row.sick].append(row.code)
    return Cell(tuple(by[True]), tuple(by[False]), tuple(by[None]))


def _with_sick(found: Sequence[Comparison]) -> tuple[Comparison, ...]:
    return tuple(sorted((one for one in found if one.with_[0]), key=_rank))
