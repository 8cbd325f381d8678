"""A probe that says the same number far longer than it ever did before; pure.

How long is too long depends on the channel: at 0.01 K a reading hardly ever repeats, at 0.5 K in a deep cellar it
stands for days. So a run of one number is held against the runs that the same channel had in the two weeks before,
and against its neighbours: where they moved, it should have moved, and where they stood still, it may.
"""

from typing import Any

import numpy as np

from collector.air.model import STEP_MS
from collector.readings.model import Millis, Values
from collector.rules.model import ChannelRule, ChannelSituation, Verdict
from collector.rules.trust.readings import Flags, heard
from collector.rules.trust.runs import Run, runs_of
from collector.rules.trust.saturated import at_ceiling
from collector.rules.trust.verdicts import steps_saying, verdicts

NAME = "stuck"
HOUR_MS = 3_600_000
WINDOW_MS = 14 * 24 * HOUR_MS
FLOOR_MS = 2 * HOUR_MS  # our choice: below it nothing is called stuck
TIMES_USUAL = 8.0  # our choice: of n runs of a steady channel the longest is about ln(n) times the mean one
TIMES_USUAL_WHEN_OTHERS_MOVED = 2.0
LEAST_RUNS = 20  # our choice: with fewer runs, or less than a day of them, nobody knows what is usual here
LEAST_KNOWN_MS = 24 * HOUR_MS
UNKNOWN_USUAL_MS = WINDOW_MS - FLOOR_MS  # of a channel that nobody knows yet, two weeks without any change are borne
UNKNOWN_USUAL_WHEN_OTHERS_MOVED_MS = 12 * HOUR_MS
# A channel is lively when its noise is larger than the steps it shows, so that it needs no moving air to change: its
# runs are short, and a tenth of its changes are by more than one step. A coarse one flickers by one step for days
# while the air is near an edge, and then stands for days.
LIVELY_MS = FLOOR_MS
LIVELY_RESTLESS = 0.1

# By how much its neighbours must have moved, but for a twentieth of the time at either end (a door), before a channel
# is expected to move as well. Our choice: about twice what two places of one cave differ in their course.
OTHERS_MOVED = {"temperature": 0.7, "surface_temperature": 0.7, "humidity": 3.0, "pressure": 300.0}
LEFT_OUT = 0.05
STEPS_OF_RESOLUTION = 5.0  # and by so many of the smallest steps that the channel itself can show


def judge(situation: ChannelSituation, carried: Verdict | None) -> list[Verdict]:
    """Spells in which a channel said one and the same number for far too long.

    Args:
        situation: readings calibrated; a door, a battery and a scale may well say the same for ever and give none.
        carried: the spell open before the judged span.
    Returns:
        Verdicts with facts: since_ms (the first reading of that number within two weeks), value, usual_longest_min
        (None when too little is known), others_moved (canonical unit, None without neighbours), largest standing_h.
        A humidity at the top of its range is left to the rule in saturated.py.
    Source: our choice, see the constants.
    """
    if situation.quantity not in OTHERS_MOVED:
        return []
    own = heard(situation)
    runs = runs_of(own, WINDOW_MS)
    standing = np.where(own.silent, 0, runs.length_ms)
    stuck = own.nothing()
    for step in np.flatnonzero((standing >= FLOOR_MS) & (np.arange(len(standing)) >= own.first)):
        stuck[step] = _is_stuck(situation, runs.at(int(step)), own.start_ms, int(step))
    steps = steps_saying(stuck, standing < FLOOR_MS, own.silent)

    def opening(step: int) -> dict[str, Any]:
        run = runs.at(step)
        moved = _others_moved(situation, own.start_ms, run, step)
        usual = usual_longest_ms(run) / 60_000 if _is_known(run) else None
        return {"since_ms": run.since_ms, "value": run.value, "usual_longest_min": usual, "others_moved": moved}

    return verdicts(NAME, own.start_ms, own.first, steps, carried, opening, largest={"standing_h": standing / HOUR_MS})


def _is_stuck(situation: ChannelSituation, run: Run, start_ms: Millis, step: int) -> bool:
    if at_ceiling(situation.quantity, run.value, run.highest):
        return False
    moved = _others_moved(situation, start_ms, run, step)
    limit_ms = _longest_borne_ms(run, moved, OTHERS_MOVED[situation.quantity])
    return limit_ms is not None and run.length_ms >= limit_ms


def _longest_borne_ms(run: Run, moved: float | None, gate: float) -> float | None:
    """How long a run may last, given what its neighbours did; None where it may last for ever."""
    others_moved = moved is not None and moved >= max(gate, STEPS_OF_RESOLUTION * run.smallest_change)
    known = _is_known(run)
    if others_moved:
        usual = TIMES_USUAL_WHEN_OTHERS_MOVED * usual_longest_ms(run)
        return max(FLOOR_MS if known else UNKNOWN_USUAL_WHEN_OTHERS_MOVED_MS, usual)
    others_stood = moved is not None and moved < gate
    if others_stood and not (known and _is_lively(run)):
        return None
    return max(FLOOR_MS if known else UNKNOWN_USUAL_MS, TIMES_USUAL * usual_longest_ms(run))


def usual_longest_ms(run: Run) -> int:
    """How long the longest run of a channel usually lasts [ms].

    Args:
        run: the one that lasts, with those before it.
    Returns:
        The longest before it. Of a lively channel the longest but one: a probe that hung last week has one long run
        which is not usual, whereas in still air a coarse probe has long runs of every length.
    """
    return run.longest_but_one_ms if _is_lively(run) else run.longest_ms


def _is_lively(run: Run) -> bool:
    return run.longest_but_one_ms < LIVELY_MS and run.restless >= LIVELY_RESTLESS


def _is_known(run: Run) -> bool:
    return run.before >= LEAST_RUNS and run.known_before_ms >= LEAST_KNOWN_MS


def _others_moved(situation: ChannelSituation, start_ms: Millis, run: Run, step: int) -> float | None:
    """How far the neighbours' ten-minute means went while the run lasted: the median of them."""
    begin = int(np.searchsorted(start_ms, run.since_ms, side="left"))
    ranges = [_range(course[begin : step + 1]) for course in situation.neighbours.values()]
    known = [r for r in ranges if r is not None]
    return float(np.median(known)) if known else None


def _range(course: Values) -> float | None:
    known: Flags = ~np.isnan(course)
    if known.sum() < 2 or known.mean() < 0.5:
        return None
    low, high = np.quantile(course[known], [LEFT_OUT, 1 - LEFT_OUT])
    return float(high - low)


STUCK = ChannelRule(NAME, "says the same number all the time", "warn", WINDOW_MS + STEP_MS, doubts=True, judge=judge)
