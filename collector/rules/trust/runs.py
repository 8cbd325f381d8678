"""Runs of one and the same number in a channel, seen from each step over a window that ends with it; pure."""

from dataclasses import dataclass

import numpy as np

from collector.readings.model import Millis, Values
from collector.rules.trust.readings import Heard, Indices


@dataclass(frozen=True, slots=True)
class Run:
    """The run that lasts at one step, and those before it within the window.

    Args:
        since_ms, length_ms, value: its first reading in the window, how long readings spoke for it, its number.
        highest: the highest reading in the window.
        before: how many runs went before. known_before_ms: how long readings spoke for those.
        longest_ms, longest_but_one_ms: how long the longest two of those lasted.
        smallest_change: the smallest step between two numbers in the window; 0 where there was none.
        restless: which share of those steps was larger than the smallest one.
    """

    since_ms: int
    length_ms: int
    value: float
    highest: float
    before: int
    known_before_ms: int
    longest_ms: int
    longest_but_one_ms: int
    smallest_change: float
    restless: float


@dataclass(frozen=True, slots=True)
class Runs:
    """Runs of a channel; `length_ms` is that of the run that lasts at each step, shape (m,)."""

    length_ms: Millis
    _own: Heard
    _oldest: Indices  # the first reading in each step's window
    _start_of: Indices  # for each reading, the first reading of its run
    _starts: Indices  # the first reading of every run
    _spoken_ms: Millis  # how long the readings before each reading spoke

    def at(self, step: int) -> Run:
        """The run at a step that has a reading in its window."""
        oldest, last = int(self._oldest[step]), int(self._own.upto[step]) - 1
        since = max(int(self._start_of[last]), oldest)
        starts = self._starts[np.searchsorted(self._starts, oldest, side="right") :]
        starts = starts[starts <= since]
        edges = np.unique(np.concatenate([[oldest], starts]))
        lengths = np.sort(np.concatenate([[0, 0], np.diff(self._spoken_ms[edges])]))
        value: Values = self._own.value
        changes = np.abs(value[starts] - value[starts - 1])
        smallest = float(changes.min()) if len(changes) else 0.0
        return Run(
            since_ms=int(self._own.taken_ms[since]),
            length_ms=int(self.length_ms[step]),
            value=float(value[last]),
            highest=float(value[oldest : last + 1].max()),
            before=len(edges) - 1,
            known_before_ms=int(self._spoken_ms[since] - self._spoken_ms[oldest]),
            longest_ms=int(lengths[-1]),
            longest_but_one_ms=int(lengths[-2]),
            smallest_change=smallest,
            restless=float(np.mean(changes > 1.5 * smallest)) if len(changes) else 0.0,
        )


def runs_of(own: Heard, window_ms: int) -> Runs:
    """The runs of a channel.

    Args:
        own: its readings. Two readings belong to one run when they are the very same number.
        window_ms: how far back from the end of each step a run may begin.
    Returns:
        The runs; `length_ms` counts only time that readings spoke for, so an outage lengthens nothing; 0 on a step
        without a reading in its window.
    """
    n = len(own.value)
    is_start = np.ones(n, dtype=bool)
    is_start[1:] = own.value[1:] != own.value[:-1]
    start_of = np.maximum.accumulate(np.where(is_start, np.arange(n), 0)) if n else np.empty(0, dtype=np.int64)
    spoken = np.concatenate([[0], np.cumsum(own.held_ms)]).astype(np.int64)
    oldest, last = own.within(window_ms), own.upto - 1
    length = np.zeros(len(own.upto), dtype=np.int64)
    some = own.upto > oldest
    since = np.maximum(start_of[last[some]], oldest[some])
    length[some] = spoken[last[some]] - spoken[since]
    return Runs(length, own, oldest, start_of, np.flatnonzero(is_start), spoken)
