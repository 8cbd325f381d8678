"""A channel's own readings, laid against the ten-minute steps that are judged; pure."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from collector.air.model import STEP_MS
from collector.readings.model import Mark, Millis, Values
from collector.rules.model import ChannelSituation
from collector.rules.trust.cleaning import impossible

Flags = npt.NDArray[np.bool_]
Indices = npt.NDArray[np.int64]

# A number that a person typed, or one whose time is not known, says nothing of how a probe behaves.
NOT_THE_PROBES = Mark.AT_THE_LATEST | Mark.TYPED


@dataclass(frozen=True, slots=True)
class Heard:
    """Readings in order of time, shape (n,), and steps, shape (m,).

    Args:
        taken_ms, value, held_ms: the probe's own readings, gaps left out.
        start_ms: complete steps, the run-in included.
        first: index of the first judged step.
        upto: how many readings were taken before the end of each step, shape (m,).
    """

    taken_ms: Millis
    value: Values
    held_ms: Millis
    start_ms: Millis
    first: int
    upto: Indices

    @property
    def end_ms(self) -> Millis:
        return self.start_ms + STEP_MS

    @property
    def silent(self) -> Flags:
        """Steps without a reading."""
        before = np.searchsorted(self.taken_ms, self.start_ms, side="left")
        return np.asarray(self.upto <= before)

    def within(self, window_ms: int) -> Indices:
        """Index of the first reading in the window that ends with each step, shape (m,)."""
        return np.searchsorted(self.taken_ms, self.end_ms - window_ms, side="left")

    def count(self, flags: Flags, window_ms: int) -> Indices:
        """How many flagged readings lie in the window that ends with each step, shape (m,)."""
        total = np.concatenate([[0], np.cumsum(flags)])
        return np.asarray(total[self.upto] - total[self.within(window_ms)])

    def nothing(self) -> Flags:
        """A flag for each step, none set."""
        return np.zeros(len(self.start_ms), dtype=bool)


def heard(situation: ChannelSituation, *, with_impossible: bool = False) -> Heard:
    """What a probe itself said, and the complete steps of a situation; impossible numbers are no readings."""
    raw = situation.raw
    own = ((raw.mark & int(NOT_THE_PROBES)) == 0) & ~np.isnan(raw.value)
    if not with_impossible:
        own &= ~impossible(situation.quantity, raw.value)
    start, first = steps_of(situation)
    taken = raw.taken_ms[own]
    upto = np.searchsorted(taken, start + STEP_MS, side="left")
    return Heard(taken, raw.value[own], situation.held_ms[own], start, first, upto)


def steps_of(situation: ChannelSituation) -> tuple[Millis, int]:
    """Complete steps up to the end of the judged span, and the index of the first judged one."""
    grid = situation.grid_ms
    start = grid[: int(np.searchsorted(grid, situation.judged_to_ms - STEP_MS, side="right"))]
    return start, int(np.searchsorted(start, situation.judged_from_ms, side="left"))
