"""Sick of how many, with something and without it, and whether that is more than chance; pure.

What belongs to a whole vat (its brine tub, milk, packets) is counted by makes and not by wheels: eight sick wheels of
one make are one vat. What is done to a wheel is compared among wheels of the same make in the same place.
"""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Literal

from dashboard.lookback.exact_tests import TwoByTwo, best_p, exact_p, more_than_chance
from dashboard.lookback.many_looks import benjamini_hochberg

LEVEL = 0.05  # our choice, the usual one
CLEAR = 0.01  # our choice: "stands out clearly"
MAKE, PLACE = "make", "place"
Unit = tuple[str, Collection[str], bool]
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


def by_factor(rows: Sequence[WheelSeen], factor: Factor) -> list[Comparison]:
    """Each value of a factor against the others.

    Unknown is neither: a wheel of which nobody said the board is left out.
    """
    told = [row for row in rows if row.sick is not None and row.shared.get(factor.name)]
    if factor.of_make:
        return compared(factor.name, _makes(told, factor.name), of_make=True)
    return compared(factor.name, [(f"{row.make}/{row.place}", row.shared[factor.name], bool(row.sick)) for row in told])


def _makes(rows: Sequence[WheelSeen], factor: str) -> list[Unit]:
    """A make is sick when one of its wheels is; makes are compared among those that stood mostly in one place."""
    by_make: dict[str, list[WheelSeen]] = {}
    for row in rows:
        if row.make:
            by_make.setdefault(row.make, []).append(row)
    return [
        (_mostly(own), frozenset().union(*(row.shared[factor] for row in own)), any(row.sick for row in own))
        for own in by_make.values()
    ]


def _mostly(rows: Sequence[WheelSeen]) -> str:
    places = [row.place for row in rows]
    return max(sorted(set(places)), key=places.count)


def compared(factor: str, units: Sequence[Unit], *, of_make: bool = False) -> list[Comparison]:
    """Each value that the units have against those without it, tested within each stratum when the numbers allow.

    Args:
        units: (stratum, its values, sick); the stratum names what has to be the same for two to be compared.
    """
    totals: dict[str, list[int]] = {}
    with_it: dict[str, dict[str, list[int]]] = {}
    for stratum, values, sick in units:
        _count(totals.setdefault(stratum, [0, 0]), sick)
        for value in values:
            _count(with_it.setdefault(value, {}).setdefault(stratum, [0, 0]), sick)
    whole = [sum(count[n] for count in totals.values()) for n in (0, 1)]
    return [_tested(factor, value, of_make, own, totals, whole) for value, own in sorted(with_it.items())]


def _count(count: list[int], sick: bool) -> None:
    count[0] += sick
    count[1] += 1


def _tested(
    factor: str,
    value: str,
    of_make: bool,
    own: Mapping[str, list[int]],
    totals: Mapping[str, list[int]],
    whole: Sequence[int],
) -> Comparison:
    """A stratum where all are sick or none, or all have the value, leaves chance no choice, and is not tested."""
    strata = [
        TwoByTwo(sick, all_, totals[name][0] - sick, totals[name][1] - all_)
        for name, (sick, all_) in own.items()
        if 0 < totals[name][0] < totals[name][1] and all_ < totals[name][1]
    ]
    sick, all_ = (sum(count[n] for count in own.values()) for n in (0, 1))
    return Comparison(
        factor,
        value,
        of_make,
        (sick, all_),
        (whole[0] - sick, whole[1] - all_),
        exact_p(strata) if best_p(strata) <= LEVEL else None,
        more=more_than_chance(strata),
    )


def paid_for(found: Sequence[Comparison]) -> list[Comparison]:
    """The comparisons with their p-values adjusted for being looked at together."""
    adjusted = iter(benjamini_hochberg([one.p for one in found if one.p is not None]))
    return [one if one.p is None else replace(one, adjusted=next(adjusted)) for one in found]
