"""One window among the others of its place: ranks, and called ranks; pure."""

from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt

from collector.readings.model import Values
from dashboard.lookback.exposures import BY_NAME
from dashboard.lookback.windows import Stretches, how_many_apart

LEAST_APART = 5  # our choice: of fewer windows that do not overlap a rank says nothing
UNUSUAL = 0.95  # our choice: of eight exposures looked at, one is this far out about once in four windows
# An exposure of which too little is as telling as too much: the air that takes nothing from a rind keeps it wet.
BOTH_WAYS = ("mean_deficit_pa",)
_SAME = 1e-9


@dataclass(frozen=True, slots=True)
class Rank:
    """One exposure of a window among the others.

    Args:
        name: the exposure. value: in the window, its unit. usual: the median of the others.
        low, high: between these lie nine in ten of the others.
        share: of the others that lie on the near side of it, 0..1; half of those that are the same.
        side: "more" or "less" than usual.
    """

    name: str
    value: float
    usual: float
    low: float
    high: float
    share: float
    side: Literal["more", "less"]

    @property
    def unusual(self) -> bool:
        return self.share >= UNUSUAL


@dataclass(frozen=True, slots=True)
class Ranked:
    """A window's ranks, the most unusual first, among so many others, of which so many do not overlap each other."""

    ranks: tuple[Rank, ...]
    others: int
    apart: int

    @property
    def enough(self) -> bool:
        return self.apart >= LEAST_APART


def ranks(own: Stretches, pool: Stretches, rows: npt.NDArray[np.bool_], names: tuple[str, ...] = ()) -> Ranked:
    """Where a window stands among others.

    Args:
        own: the window, one row. pool: windows of its length. rows: which of them to take, shape (w,).
        names: the exposures to rank; () takes all.
    Returns:
        `Ranked`. An exposure of which nothing is known in the window, or in all others, is left out.
    Source: mid-ranks; they say how often the air was like this, not how likely it was the cause.
    """
    asked = [name for name in names or own.by_name if name in own.by_name]
    found = [one for name in asked if (one := _rank(name, own, pool, rows)) is not None]
    # Of equal ranks the one that is further from its usual goes first.
    found.sort(key=lambda one: (-one.share, -_spreads(one), one.name))
    return Ranked(tuple(found), int(rows.sum()), how_many_apart(pool, rows))


def _rank(name: str, own: Stretches, pool: Stretches, rows: npt.NDArray[np.bool_]) -> Rank | None:
    value, others = float(own.by_name[name][0]), pool.by_name[name][rows]
    others = others[~np.isnan(others)]
    if np.isnan(value) or not len(others):
        return None
    below = share_below(value, others)
    less = name in BOTH_WAYS and below < 0.5
    low, usual, high = (float(q) for q in np.quantile(others, (0.05, 0.5, 0.95)))
    return Rank(name, value, usual, low, high, 1 - below if less else below, "less" if less else "more")


def share_below(value: float, others: Values) -> float:
    """The share of some values that lie below one, half of those that are the same; NaN where there are none."""
    if not len(others):
        return float("nan")
    under = np.count_nonzero(others < value - _SAME)
    same = np.count_nonzero(np.abs(others - value) <= _SAME)
    return float((under + same / 2) / len(others))


def _spreads(one: Rank) -> float:
    wide = one.high - one.low
    far = abs(one.value - one.usual)
    return far / wide if wide > 0 else float("inf") if far > _SAME else 0.0


def of_damp_or_dry(ranked: Ranked, of: str) -> tuple[Rank, ...]:
    """Those ranks that come from one side: "damp", "dry" or "warm"."""
    return tuple(one for one in ranked.ranks if BY_NAME[one.name].of == of)
