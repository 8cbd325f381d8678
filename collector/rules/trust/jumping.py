"""A probe whose numbers jump back and forth as no air can; pure.

A door makes one fall and a slow way back; washing down, carrying the probe and a cooler's cycle make slopes. What no
air does is to leap and to be level on both sides of the leap, up as well as down, again and again: that is a loose
plug, water in the sensor or a supply that gives way.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np

from collector.readings.model import Millis, Values
from collector.rules.model import ChannelRule, ChannelSituation, Verdict
from collector.rules.trust.readings import Flags, Heard, heard
from collector.rules.trust.verdicts import steps_saying, verdicts

NAME = "jumping"
HOUR_MS = 3_600_000
MINUTE_MS = 60_000
WINDOW_MS = 6 * HOUR_MS
USUAL_MS = 24 * HOUR_MS  # what is usual for this channel, its cooler's cycle included, is taken from the day before
LEAST_EACH_WAY = 3  # our choice: so often up and so often down within six hours
LEVEL = 0.25  # our choice: beside a leap the readings lie within a quarter of it
TIMES_USUAL = 8.0  # our choice: of the spread of usual steps, which has no tail of this length in cycling air
LONGEST_GAP_MS = 30 * MINUTE_MS  # readings further apart may be anything

# The smallest leap that counts between readings a minute or less apart, and ten minutes or more apart: a quickly
# opened and closed door passes for a spike when readings are rare. Our choice.
SMALLEST = {
    "temperature": (2.0, 8.0),
    "surface_temperature": (2.0, 8.0),
    "humidity": (8.0, 40.0),
    "pressure": (500.0, 1_500.0),
}


@dataclass(frozen=True, slots=True)
class Leaps:
    """Leaps in order of the reading that confirmed them, shape (n,) each: when, how far, from which reading."""

    confirmed_ms: Millis
    size: Values
    at: Millis


def judge(situation: ChannelSituation, carried: Verdict | None) -> list[Verdict]:
    """Spells in which a channel leapt up and down as no air can.

    Args:
        situation: readings calibrated.
        carried: the spell open before the judged span.
    Returns:
        Verdicts with facts: since_ms (the first leap within six hours), usual_step (spread of steps on the day
        before), each_way (so many leaps up, and as many down, within six hours), largest_leap. Quantities that may
        leap (a door, a scale) give none.
    Source: our choice, see the constants.
    """
    if situation.quantity not in SMALLEST:
        return []
    own = heard(situation)
    leaps = leaps_of(own, situation.quantity)
    each_way = _each_way(own, leaps, np.ones(len(leaps.size), dtype=bool))
    often = _each_way(own, leaps, _unusual(own, leaps)) >= LEAST_EACH_WAY
    steps = steps_saying(often, each_way == 0, own.silent)

    def opening(step: int) -> dict[str, Any]:
        first = int(np.searchsorted(leaps.confirmed_ms, own.end_ms[step] - WINDOW_MS, side="left"))
        usual = usual_step(own, int(leaps.at[first]))
        return {"since_ms": own.taken_ms[leaps.at[first]], "usual_step": usual, "each_way": each_way[step]}

    largest = {"largest_leap": _largest_leap(own, leaps)}
    return verdicts(NAME, own.start_ms, own.first, steps, carried, opening, largest=largest)


def leaps_of(own: Heard, quantity: str) -> Leaps:
    """All leaps of a channel that are large enough to count, whatever is usual for it.

    Args:
        own: its readings.
        quantity: one of `SMALLEST`.
    Returns:
        Leaps: from level to level, or out to a single reading and back (that one gives two, one each way).
    """
    taken, value = own.taken_ms, own.value
    if len(value) < 4:
        return Leaps(np.empty(0, dtype=np.int64), np.empty(0), np.empty(0, dtype=np.int64))
    step = np.diff(value)
    before, here, after = step[:-2], step[1:-1], step[2:]
    at = np.arange(2, len(value) - 1)
    gap = np.maximum(np.diff(taken)[1:-1], np.maximum(np.diff(taken)[:-2], np.diff(taken)[2:]))
    size = np.abs(here)
    level = np.maximum(np.abs(before), np.abs(after)) <= LEVEL * size
    out = (np.abs(here + after) <= LEVEL * size) & (np.abs(before) <= LEVEL * size)
    back = (np.abs(before + here) <= LEVEL * size) & (np.abs(after) <= LEVEL * size)
    counts = (level | out | back) & (gap <= LONGEST_GAP_MS) & (size >= _smallest(quantity, gap))
    return Leaps(taken[at[counts] + 1], here[counts], at[counts])


def usual_step(own: Heard, reading: int) -> float:
    """The spread of the steps between readings on the day before a reading, as a standard deviation.

    Args:
        own: the channel's readings.
        reading: index of the reading.
    Returns:
        In the canonical unit; 0 with fewer than ten steps. Taken from the smallest quarter of the steps, so that a
        probe which has been leaping for most of a day does not pass for usual.
    Source: a quarter of normal values lies within 0.3186 standard deviations (tables of the normal distribution).
    """
    from_reading = int(np.searchsorted(own.taken_ms, own.taken_ms[reading] - USUAL_MS, side="left"))
    steps = np.abs(np.diff(own.value[from_reading:reading]))
    return float(np.quantile(steps, 0.25) / 0.3186) if len(steps) >= 10 else 0.0


def _smallest(quantity: str, gap_ms: Millis) -> Values:
    near, far = SMALLEST[quantity]
    return np.asarray(np.interp(gap_ms, [MINUTE_MS, 10 * MINUTE_MS], [near, far]))


def _each_way(own: Heard, leaps: Leaps, flags: Flags) -> Millis:
    """How many of the flagged leaps within six hours of each step went up, or down, whichever are fewer."""
    ways = [leaps.confirmed_ms[flags & way] for way in (leaps.size > 0, leaps.size < 0)]
    up, down = (
        np.searchsorted(way, own.end_ms, side="left") - np.searchsorted(way, own.end_ms - WINDOW_MS, side="left")
        for way in ways
    )
    return np.asarray(np.minimum(up, down))


def _unusual(own: Heard, leaps: Leaps) -> Flags:
    """Which leaps are far beyond the steps that were usual on the day before them."""
    limits = [TIMES_USUAL * usual_step(own, int(reading)) for reading in leaps.at]
    return np.asarray(np.abs(leaps.size) >= np.array(limits, dtype=float))


def _largest_leap(own: Heard, leaps: Leaps) -> Values:
    """The largest leap that was confirmed in each step; NaN without one."""
    largest = np.full(len(own.start_ms), np.nan)
    step = np.searchsorted(own.start_ms, leaps.confirmed_ms, side="right") - 1
    known = (step >= 0) & (step < len(largest))
    np.fmax.at(largest, step[known], np.abs(leaps.size[known]))
    return largest


JUMPING = ChannelRule(
    NAME, "jumps as no air can", "warn", memory_ms=USUAL_MS + WINDOW_MS + 2 * HOUR_MS, doubts=True, judge=judge
)
