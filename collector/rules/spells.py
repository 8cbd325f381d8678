"""The state machine that every rule about air shares: from what each ten-minute step says to spells; pure.

A step says one of four things: *outside* (it counts), *inside* (well back, by the hysteresis), *unknown*, or nothing of
these (inside the limit, but not well inside). From them:

- A spell opens on the step at which the outside steps since the air was last well inside fill the grace time, within
  one and a quarter times that of known time: air that hugs its limit and dips out at each visit is not outside.
- It ends on the first inside step.
- Unknown steps neither count nor end anything. Six unknown hours on end empty the count; a whole unknown day ends
  an open spell (`lost`), because nobody can say any more that the air is bad.

Everything is a function of the steps in reach and of whether a spell was open before the first judged one: judging
may be cut and taken up again anywhere. Each part is one pass of array arithmetic; only spells are looped over.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from collector.air.model import STEP_MS
from collector.readings.model import Millis

Flags = npt.NDArray[np.bool_]
Indices = npt.NDArray[np.int64]

HOUR_STEPS = 6
LONG_UNKNOWN_STEPS = 6 * HOUR_STEPS  # our choice: a night's sleep; what was counted before it says little after it
LOST_STEPS = 24 * HOUR_STEPS  # our choice: a day later "too damp" is a guess; silence is warned of apart
LONGEST_GRACE_STEPS = 24 * HOUR_STEPS  # our choice: a longer grace would hide a day's damage; longer ones count as this
WEEK_STEPS = 7 * 24 * HOUR_STEPS
# How far back a step's count can look, so that the machine forgets: over twice the grace and six hours, and at what
# emptied the count there.
REACH_STEPS = 2 * LONGEST_GRACE_STEPS + 2 * LONG_UNKNOWN_STEPS


@dataclass(frozen=True, slots=True)
class Steps:
    """What each step says; shape (n,) each, at most one of the three is set."""

    outside: Flags
    inside: Flags
    unknown: Flags


@dataclass(frozen=True, slots=True)
class Spell:
    """One spell by the indices of its steps.

    Args:
        since: the first step that counted; None for a spell carried in.
        opened: the step that filled the grace; None for a spell carried in.
        cleared: the step that ended it; None while it lasts.
        lost: it ended because nothing was known for a day.
    """

    since: int | None
    opened: int | None
    cleared: int | None
    lost: bool = False


def find_spells(steps: Steps, grace_ms: Millis, first: int, carried: bool) -> list[Spell]:
    """Spells from a step on.

    Args:
        steps: what each step says; those before `first` are the run-in.
        grace_ms: how long outside air is borne on each step, shape (n,) [ms]; 0 opens at once, more than 24 h
            counts as 24 h.
        first: index of the first judged step, 0..n.
        carried: whether a spell was open before it.
    Returns:
        Spells in order of time, the carried one first.
    Raises:
        ValueError: arrays of different lengths, a step that says two things, or `first` out of range.
    Source: our choice, see the module's text.
    """
    _refuse_contradictions(steps, grace_ms, first)
    full, counted_after = grace_filled(steps, grace_ms)
    lost = _run_length(steps.unknown) >= LOST_STEPS
    is_open = _latched(full[first:], (steps.inside | lost)[first:], carried)
    before = np.concatenate([[carried], is_open[:-1]]) if len(is_open) else is_open
    opened = [int(i) for i in first + np.flatnonzero(is_open & ~before)]
    cleared: list[int | None] = [int(i) for i in first + np.flatnonzero(~is_open & before)]
    starts: list[int | None] = [None] if carried else []
    starts += opened
    cleared += [None] * (len(starts) - len(cleared))
    return [
        Spell(
            since=None if start is None else _first_set(steps.outside, int(counted_after[start]) + 1),
            opened=start,
            cleared=end,
            lost=end is not None and bool(lost[end]),
        )
        for start, end in zip(starts, cleared, strict=True)
    ]


def open_steps(steps: Steps, grace_ms: Millis) -> Flags:
    """On which steps a spell is open, as far as the week before shows; for rules that look at another rule's spells.

    Args:
        steps, grace_ms: as in `find_spells`.
    Returns:
        Flags, shape (n,). A spell in which the air hung between its limits for more than a week is not seen.
    """
    filled, _ = grace_filled(steps, grace_ms)
    last_filled = _last_set(filled)
    ended = _last_set(steps.inside | (_run_length(steps.unknown) >= LOST_STEPS))
    recent = np.arange(len(filled)) - last_filled <= WEEK_STEPS
    return np.asarray((last_filled > ended) & recent)


def grace_filled(steps: Steps, grace_ms: Millis) -> tuple[Flags, Indices]:
    """On which steps the outside time since the air was well inside has filled the grace.

    Args:
        steps, grace_ms: as in `find_spells`.
    Returns:
        (flag, the step after which outside steps were counted, -1 from the beginning), shape (n,) each.
    """
    grace = np.clip(-(-grace_ms // STEP_MS), 1, LONGEST_GRACE_STEPS)
    index = np.arange(len(grace), dtype=np.int64)
    emptied = steps.inside | (_run_length(steps.unknown) >= LONG_UNKNOWN_STEPS)
    counted_after = np.maximum(_last_set(emptied), index - (2 * grace + LONG_UNKNOWN_STEPS))
    counted_after = np.maximum(counted_after, _known_steps_back(steps.unknown, grace + (grace + 3) // 4))
    total = np.concatenate([[0], np.cumsum(steps.outside)])
    count = total[index + 1] - total[counted_after + 1]
    return np.asarray(steps.outside & (count >= grace)), counted_after


def _known_steps_back(unknown: Flags, steps: Indices) -> Indices:
    """The step after which so many known steps lie, up to each; -1 where there are not so many."""
    known = np.flatnonzero(~unknown)
    before = np.cumsum(~unknown) - steps - 1
    if len(known) == 0:
        return np.full(len(unknown), -1, dtype=np.int64)
    return np.where(before < 0, -1, known[np.maximum(before, 0)])


def _latched(sets: Flags, ends: Flags, carried: bool) -> Flags:
    """Open after each step: set by `sets`, ended by `ends`, whichever came last; before either, as carried in."""
    last_set, last_end = _last_set(sets), _last_set(ends)
    return np.asarray((last_set > last_end) | (carried & (last_end < 0)))


def _last_set(flags: Flags) -> Indices:
    """Index of the last set flag up to each step, -1 before the first."""
    index = np.arange(len(flags), dtype=np.int64)
    return np.maximum.accumulate(np.where(flags, index, -1))


def _run_length(flags: Flags) -> Indices:
    """How many steps on end, up to each, are set."""
    return np.arange(len(flags), dtype=np.int64) - _last_set(~flags)


def _first_set(flags: Flags, from_index: int) -> int:
    return from_index + int(np.argmax(flags[from_index:]))


def _refuse_contradictions(steps: Steps, grace_ms: Millis, first: int) -> None:
    n = len(steps.outside)
    if not len(steps.inside) == len(steps.unknown) == len(grace_ms) == n:
        raise ValueError(
            f"steps must be of one length, got outside {n}, inside {len(steps.inside)}, "
            f"unknown {len(steps.unknown)}, grace_ms {len(grace_ms)}"
        )
    if not 0 <= first <= n:
        raise ValueError(f"first must be from 0 to {n}, got {first}")
    said = steps.outside.astype(np.int8) + steps.inside + steps.unknown
    if np.any(said > 1):
        raise ValueError(f"step {int(np.argmax(said > 1))} must say one thing, got {int(said.max())}")
