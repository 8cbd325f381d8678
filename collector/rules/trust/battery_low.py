"""A battery that is low or will soon be empty, with the day on which it will be; pure."""

from typing import Any

import numpy as np

from collector.air.model import STEP_MS
from collector.readings.model import Values
from collector.rules.model import ChannelRule, ChannelSituation, Verdict
from collector.rules.trust.batteries import QUANTITIES_JUDGED
from collector.rules.trust.battery_days import DAY_MS, WINDOW_DAYS, BatteryDay, battery_day
from collector.rules.trust.readings import Heard, heard
from collector.rules.trust.verdicts import steps_saying, verdicts

NAME = "battery_low"
SOON_MS = 14 * DAY_MS  # our choice: time to buy one and to change it
AT_A_TIME = 3  # the level is the median of so many readings: one sagging under the radio is no level


def judge(situation: ChannelSituation, carried: Verdict | None) -> list[Verdict]:
    """Spells in which a battery was low, or would be empty within a fortnight.

    Args:
        situation: readings of a battery [%EL] or of its voltage [V]; other quantities give none.
        carried: the spell open before the judged span.
    Returns:
        A spell ends with a fresh or charged battery, or when nothing was heard for a month: an empty battery
        explains silence best. Verdicts with facts: since_ms (the step that opened), level (last, canonical unit),
        kind (what battery it seems to be), empty_level, and per_day, empty_ms, earliest_ms, latest_ms (90 %; None
        where the last weeks do not tell).
    Source: levels from batteries.py; the times are our choice.
    """
    if situation.quantity not in QUANTITIES_JUDGED:
        return []
    own = heard(situation)
    level = _level(own)
    days, day_of = _days(situation.quantity, own)
    numbers = np.array([day.numbers() for day in days], dtype=float).reshape(-1, 4)
    low_at, replaced_at, charged_at, empty_ms = numbers[day_of].T
    low = (level <= low_at) | (empty_ms - own.end_ms <= SOON_MS)
    fresh = (level >= replaced_at) | ((level >= charged_at) & ~low)
    steps = steps_saying(low & ~(level >= replaced_at) & ~np.isnan(level), fresh | np.isnan(level), own.nothing())

    def opening(step: int) -> dict[str, Any]:
        return {"since_ms": own.start_ms[step], **days[day_of[step]].kind()}

    def latest(step: int) -> dict[str, Any]:
        return {"level": level[step], **days[day_of[step]].course()}

    return verdicts(NAME, own.start_ms, own.first, steps, carried, opening, latest)


def _level(own: Heard) -> Values:
    """Median of the last three readings at each step, of those within a month; NaN without any."""
    level = np.full(len(own.start_ms), np.nan)
    oldest = own.within(WINDOW_DAYS * DAY_MS)
    last = np.full((AT_A_TIME, len(level)), np.nan)
    for back in range(AT_A_TIME):
        reading = own.upto - 1 - back
        there = reading >= oldest
        last[back, there] = own.value[reading[there]]
    some = ~np.isnan(last[0])
    level[some] = np.nanmedian(last[:, some], axis=0)
    return level


def _days(quantity: str, own: Heard) -> tuple[list[BatteryDay], np.ndarray[Any, np.dtype[np.int64]]]:
    """What the days before tell on each day (UTC) that is judged, and which of them each step belongs to."""
    day = own.end_ms // DAY_MS
    day[: own.first] = day[own.first] if own.first < len(day) else 0
    wanted, day_of = np.unique(day, return_inverse=True)
    return [battery_day(quantity, own.taken_ms, own.value, int(d)) for d in wanted], day_of


BATTERY_LOW = ChannelRule(
    NAME, "battery low", "warn", memory_ms=(WINDOW_DAYS + 1) * DAY_MS + STEP_MS, doubts=False, judge=judge
)
