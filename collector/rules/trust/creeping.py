"""A probe that drifts away from its neighbours over weeks; pure.

A humidity probe that lives above 80 % gains a point or three and loses them again in dry air; dirt and age do the
same for good. Neither shows against the air, only against another probe in the same air. It is no fault yet, only a
reason to check the probe before the calendar says so.
"""

from typing import Any

import numpy as np

from collector.air.model import STEP_MS
from collector.readings.model import Millis, Values
from collector.rules.model import ChannelRule, ChannelSituation, Verdict
from collector.rules.trust.readings import steps_of
from collector.rules.trust.verdicts import steps_saying, verdicts
from collector.theil_sen import Line, theil_sen

NAME = "creeping"
DAY_MS = 86_400_000
DAY_STEPS = DAY_MS // STEP_MS
WINDOW_DAYS = 28
LEAST_DAYS = 18  # our choice: two thirds of them, and some in the first and in the last third
LEAST_IN_A_THIRD = 4
LEAST_STEPS_A_DAY = 36  # our choice: six hours of a day
CONFIDENCE = 0.95  # it is only a note; the table of the bench shows what it costs and finds

# By how much a channel may move against a neighbour within the window: our choice, about half of what a check is
# expected to find in a bad year, and more than shelves that fill up do to each other's air.
MOST_IN_WINDOW = {"temperature": 0.5, "humidity": 1.5, "pressure": 150.0}
SURE_SHARE = 0.4  # the interval of the slope must lie beyond this share of it
WELL_SHARE = 0.5


def judge(situation: ChannelSituation, carried: Verdict | None) -> list[Verdict]:
    """Spells in which a channel moved away from every neighbour, the same way, over four weeks.

    Args:
        situation: own and neighbours on the grid, the same quantity at the same kind of site.
        carried: the spell open before the judged span.
    Returns:
        Verdicts with facts: since_ms (the start of the four weeks), moved (over four weeks, own minus the neighbour
        that followed most, canonical unit), moved_low, moved_high (95 %), against (names), alone (True when there
        were two neighbours or more, so that this channel is the likelier one), largest_moved.
    Source: Theil-Sen slope of daily medians, widened for autocorrelation (see collector/theil_sen.py); the limits
        are our choice. The reversible gain at high humidity is from the SHT20 and SHT4x data sheets.
    """
    start_ms, first = steps_of(situation)
    n = len(start_ms)
    doubtful, well, unknown = np.zeros(n, dtype=bool), np.zeros(n, dtype=bool), np.isnan(situation.own[:n])
    largest, seen = np.full(n, np.nan), _lines(situation, start_ms, first)
    for step, lines in seen.items():
        nearest = _follows_most(lines)
        limit = MOST_IN_WINDOW[situation.quantity]
        doubtful[step] = nearest is not None and _is_creeping(nearest, limit)
        well[step] = nearest is None or abs(nearest.slope) < WELL_SHARE * limit
        largest[step] = np.nan if nearest is None else abs(nearest.slope)
    steps = steps_saying(doubtful, well, unknown)

    def opening(step: int) -> dict[str, Any]:
        return {"since_ms": start_ms[step] + STEP_MS - WINDOW_DAYS * DAY_MS}

    def latest(step: int) -> dict[str, Any]:
        judged = [s for s in seen if s <= step]
        return _told(seen[judged[-1]]) if judged else {}

    return verdicts(NAME, start_ms, first, steps, carried, opening, latest, {"largest_moved": largest})


def daily_medians(course: Values) -> Values:
    """Median of each day of a course that begins and ends at midnight.

    Args:
        course: ten-minute values, shape (144 days,), NaN where unknown.
    Returns:
        Shape (days,); NaN for a day of which less than six hours are known.
    """
    days = course.reshape(-1, DAY_STEPS)
    enough = np.sum(~np.isnan(days), axis=1) >= LEAST_STEPS_A_DAY
    medians = np.full(len(days), np.nan)
    medians[enough] = np.nanmedian(days[enough], axis=1)
    return medians


def _lines(situation: ChannelSituation, start_ms: Millis, first: int) -> dict[int, dict[str, Line]]:
    """Against each neighbour the line over the four weeks before each midnight (UTC); the slope is per window."""
    if situation.quantity not in MOST_IN_WINDOW:
        return {}
    found = {}
    for step in _midnights(start_ms, first):
        window = slice(step + 1 - WINDOW_DAYS * DAY_STEPS, step + 1)
        if window.start < 0 or np.isnan(situation.own[step]):
            continue
        found[step] = {
            name: line
            for name, course in sorted(situation.neighbours.items())
            if (line := _line(situation.own[window] - course[window])) is not None
        }
    return found


def _midnights(start_ms: Millis, first: int) -> list[int]:
    ends = start_ms + STEP_MS
    return [int(i) for i in np.flatnonzero((ends % DAY_MS == 0) & (np.arange(len(ends)) >= first))]


def _line(difference: Values) -> Line | None:
    medians = daily_medians(difference)
    known = ~np.isnan(medians)
    third = WINDOW_DAYS // 3
    if known.sum() < LEAST_DAYS or min(known[:third].sum(), known[-third:].sum()) < LEAST_IN_A_THIRD:
        return None
    return theil_sen(np.arange(WINDOW_DAYS) / WINDOW_DAYS, medians, CONFIDENCE, correlated=True)


def _follows_most(lines: dict[str, Line]) -> Line | None:
    """The line against the neighbour that moves most like the channel: none, when one keeps step with it."""
    if not lines:
        return None
    rising = {line.slope > 0 for line in lines.values()}
    nearest = min(lines.values(), key=lambda line: abs(line.slope))
    return nearest if len(rising) == 1 else Line(0.0, nearest.intercept, 0.0, 0.0, nearest.points)


def _is_creeping(line: Line, limit: float) -> bool:
    surely = line.low if line.slope > 0 else -line.high
    return abs(line.slope) > limit and surely > SURE_SHARE * limit


def _told(lines: dict[str, Line]) -> dict[str, Any]:
    nearest = _follows_most(lines)
    if nearest is None:
        return {}
    moved = {"moved": nearest.slope, "moved_low": nearest.low, "moved_high": nearest.high}
    return moved | {"against": sorted(lines), "alone": len(lines) >= 2}


CREEPING = ChannelRule(
    NAME,
    "drifts away from its neighbours",
    "note",
    memory_ms=WINDOW_DAYS * DAY_MS + 3_600_000,
    doubts=False,
    judge=judge,
)
