"""Sick of how many, with something and without it, and whether that is more than chance; pure.

What belongs to a whole vat (its brine tub, milk, packets) is counted by makes and not by wheels: eight sick wheels of
one make are one vat. What is done to a wheel is compared among wheels of the same make in the same place.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Literal

from dashboard.lookback.exact_tests import TwoByTwo, best_p, exact_p, more_than_chance
from dashboard.lookback.many_looks import benjamini_hochberg

LEVEL = 0.05  # our choice, the usual one
CLEAR = 0.01  # our choice: "stands out clearly"
MAKE, PLACE = "make", "place"
Finding = Literal["clear", "stands_out", "not", "too_small"]


@dataclass(frozen=True, slots=True)
class Factor:
    """Something that wheels can share. `of_make`: it belongs to a whole vat, so that makes are counted."""

    name: str
    word: str
    of_make: bool = False


FACTORS: dict[str, Factor] = {
    row.name: row
    for row in (
        Factor("brine", "brine tub", of_make=True),
        Factor("milk", "milk", of_make=True),
        Factor("culture", "culture packet", of_make=True),
        Factor("mould", "mould packet", of_make=True),
        Factor("rennet", "rennet", of_make=True),
        Factor("shelf", "shelf"),
        Factor("board", "board"),
        Factor("wash", "wash or brush"),
        Factor("who", "who did the round"),
    )
}
"""What is looked at after the vat and the cave; a further one is a row here and a value in `WheelSeen.shared`."""


@dataclass(frozen=True, slots=True)
class WheelSeen:
    """A wheel in the time that matters.

    Args:
        make: the id of its vat, "" where nobody knows.
        places: ids of where it stood, the longest first; none where nobody said.
        sick: whether it has the note; None where nobody looked at it since.
        shared: what else it came through, ids by the name of a factor.
    """

    wheel_id: str
    code: str = ""
    make: str = ""
    places: tuple[str, ...] = ()
    sick: bool | None = None
    shared: Mapping[str, frozenset[str]] = field(default_factory=dict)

    @property
    def place(self) -> str:
        """Where it stood the longest."""
        return self.places[0] if self.places else ""


@dataclass(frozen=True, slots=True)
class Comparison:
    """Sick of how many with something and without it.

    Args:
        factor: MAKE, PLACE, or a name of FACTORS. value: the id of the make, place, tub...
        of_make: whether makes are counted and not wheels.
        with_, without: (sick, looked at).
        p: of the exact test; None where the numbers are too small to tell. adjusted: with the other looks paid for.
        more: whether more are sick with it than chance deals.
    """

    factor: str
    value: str
    of_make: bool
    with_: tuple[int, int]
    without: tuple[int, int]
    p: float | None = None
    adjusted: float | None = None
    more: bool = False

    @property
    def finding(self) -> Finding:
        if self.adjusted is None:
            return "too_small"
        if self.adjusted > LEVEL or not self.more:
            return "not"
        return "clear" if self.adjusted <= CLEAR else "stands_out"

    @property
    def stands_out(self) -> bool:
        return self.finding in {"clear", "stands_out"}


def values_of(row: WheelSeen, factor: Factor) -> list[str]:
    """What of a factor a wheel came through, in a fixed order; none where nobody said."""
    return sorted(row.shared.get(factor.name, ()))


def by_factor(rows: Sequence[WheelSeen], factor: Factor, value: str) -> Comparison:
    """Sick of how many with one value of a factor and with another one.

    Unknown is neither: a wheel of which nobody said the board is left out.
    """
    told = [row for row in rows if row.shared.get(factor.name)]
    if factor.of_make:
        return _of_makes(told, factor.name, value)
    return of_wheels(
        told, factor.name, value, lambda row: value in row.shared[factor.name], lambda row: f"{row.make}/{row.place}"
    )


def of_wheels(
    rows: Sequence[WheelSeen],
    factor: str,
    value: str,
    is_with: Callable[[WheelSeen], bool],
    stratum: Callable[[WheelSeen], str],
) -> Comparison:
    """Sick of how many wheels for which something holds and for which it does not.

    Args:
        stratum: names what has to be the same for two wheels to be compared; the test is done within it.
    """
    seen = [row for row in rows if row.sick is not None]
    units = [(stratum(row), is_with(row), bool(row.sick)) for row in seen]
    return _tested(Comparison(factor, value, False, (0, 0), (0, 0)), units)


def _of_makes(rows: Sequence[WheelSeen], factor: str, value: str) -> Comparison:
    """A make is sick when one of its wheels is; makes are compared among those that stood mostly in one place."""
    by_make: dict[str, list[WheelSeen]] = {}
    for row in rows:
        if row.sick is not None and row.make:
            by_make.setdefault(row.make, []).append(row)
    units = [
        (_mostly(own), any(value in row.shared[factor] for row in own), any(row.sick for row in own))
        for own in by_make.values()
    ]
    return _tested(Comparison(factor, value, True, (0, 0), (0, 0)), units)


def _mostly(rows: Sequence[WheelSeen]) -> str:
    places = [row.place for row in rows]
    return max(sorted(set(places)), key=places.count)


def _tested(blank: Comparison, units: Sequence[tuple[str, bool, bool]]) -> Comparison:
    """Count the units (stratum, with it, sick) and test them within their strata when the numbers allow."""
    strata = [_table([u for u in units if u[0] == name]) for name in sorted({u[0] for u in units})]
    told = exact_p(strata) if best_p(strata) <= LEVEL else None
    whole = _table(units)
    return replace(
        blank,
        with_=(whole.sick_with, whole.all_with),
        without=(whole.sick_without, whole.all_without),
        p=told,
        more=more_than_chance(strata),
    )


def _table(units: Sequence[tuple[str, bool, bool]]) -> TwoByTwo:
    on, off = ([sick for _, with_it, sick in units if with_it is side] for side in (True, False))
    return TwoByTwo(sum(on), len(on), sum(off), len(off))


def paid_for(found: Sequence[Comparison]) -> list[Comparison]:
    """The comparisons with their p-values adjusted for being looked at together."""
    adjusted = iter(benjamini_hochberg([one.p for one in found if one.p is not None]))
    return [one if one.p is None else replace(one, adjusted=next(adjusted)) for one in found]
