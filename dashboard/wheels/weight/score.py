"""How good the forecasts were: those that came due beside what came; pure."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

DAY_MS = 86_400_000
# Our choice: a weighing speaks for a day when it lies within this of it, or when one lies on each side and not further.
NEAR_D, BETWEEN_D = 2.0, 35.0


@dataclass(frozen=True, slots=True)
class Score:
    """How many came due, of how many it is known what came, and how many of these lay inside."""

    due: int
    known: int
    inside: int

    @property
    def words(self) -> str:
        if not self.due:
            return "No forecast has come due yet."
        came = f"{self.due} came due, {self.inside} {'was' if self.inside == 1 else 'were'} inside"
        missing = self.due - self.known
        return f"{came}." if not missing else f"{came}, {missing} not weighed then."


def what_came_g(weighed: Sequence[tuple[int, float]], due_ms: int) -> float | None:
    """What a wheel weighed on a day: the nearest weighing, else between those on both sides in a straight line [g].

    Args:
        weighed: (when [ms], grams) in order; wet and odd ones left out. due_ms: the day.
    Returns:
        Grams; None where no weighing speaks for that day.
    """
    if not weighed:
        return None
    at = np.array([one[0] for one in weighed], dtype=np.int64)
    grams = np.array([one[1] for one in weighed])
    nearest = int(np.argmin(np.abs(at - due_ms)))
    if abs(int(at[nearest]) - due_ms) <= NEAR_D * DAY_MS:
        return float(grams[nearest])
    between = at[0] < due_ms < at[-1]
    after = int(np.searchsorted(at, due_ms))
    if between and at[after] - at[after - 1] <= BETWEEN_D * DAY_MS:
        return float(np.interp(due_ms, at, grams))
    return None


def scored(kept: Sequence[tuple[float, float, float | None]]) -> Score:
    """The score of forecasts that came due: (low, high, what came or None) each."""
    known = [(low, high, came) for low, high, came in kept if came is not None]
    return Score(len(kept), len(known), sum(low <= came <= high for low, high, came in known))
