"""Vat or cave? The same make in other places, the same place from other makes, sick of how many; pure.

rows -> square of counts -> exact test of the vat within each place, of the cave within each make
     -> then every other thing the sick wheels shared, with the many looks paid for
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Literal

from dashboard.lookback.compared import (
    FACTORS,
    MAKE,
    PLACE,
    Comparison,
    Factor,
    WheelSeen,
    by_factor,
    of_wheels,
    paid_for,
    values_of,
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
    vats = [of_wheels(others, MAKE, own.make, partial(_same_make, own), _place)] if own.make else []
    caves = [of_wheels(others, PLACE, own.place, partial(_same_place, own), _make)] if own.places and air_asked else []
    shared = [by_factor(others, factor, value) for factor in FACTORS.values() for value in values_of(own, factor)]
    sides = paid_for([*vats, *caves])
    vats, caves = sides[: len(vats)], sides[len(vats) :]
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
    makes = _each(row.make for row in known)
    places = _each(place for row in known for place in row.places) if air_asked else []
    sides = paid_for(
        [
            *(of_wheels(known, MAKE, make, partial(_of_make, make), _place) for make in makes),
            *(of_wheels(known, PLACE, place, partial(_in_place, place), _make) for place in places),
        ]
    )
    vats, caves = sides[: len(makes)], sides[len(makes) :]
    shared = [by_factor(known, f, value) for f in FACTORS.values() for value in _each_of(known, f)]
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
    return (2.0 if one.adjusted is None else one.adjusted, one.factor, one.value)


def _own(rows: Sequence[WheelSeen], wheel_id: str) -> WheelSeen:
    for row in rows:
        if row.wheel_id == wheel_id:
            return row
    raise ValueError(f"wheel_id must be among the {len(rows)} rows, got {wheel_id}")


def _same_make(own: WheelSeen, row: WheelSeen) -> bool:
    return bool(own.make) and row.make == own.make


def _same_place(own: WheelSeen, row: WheelSeen) -> bool:
    return not set(row.places).isdisjoint(own.places)


def _of_make(make: str, row: WheelSeen) -> bool:
    return row.make == make


def _in_place(place: str, row: WheelSeen) -> bool:
    return place in row.places


def _make(row: WheelSeen) -> str:
    return row.make


def _place(row: WheelSeen) -> str:
    return row.place


def _cell(rows: Iterable[WheelSeen]) -> Cell:
    by: dict[bool | None, list[str]] = {True: [], False: [], None: []}
    for row in rows:
        by[row.sick].append(row.code)
    return Cell(tuple(by[True]), tuple(by[False]), tuple(by[None]))


def _each(values: Iterable[str]) -> list[str]:
    return sorted({value for value in values if value})


def _each_of(rows: Iterable[WheelSeen], factor: Factor) -> list[str]:
    return _each(value for row in rows for value in values_of(row, factor))


def _with_sick(found: Sequence[Comparison]) -> tuple[Comparison, ...]:
    return tuple(sorted((one for one in found if one.with_[0]), key=_rank))
