"""What a cooler did each day, and what it usually does; pure.

A day is one of UTC, so that what is said of it does not depend on where judging begins.
"""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from collector.air.model import STEP_MS, Course
from collector.readings.model import Millis, Values
from collector.rules.cycle import air_readings, find_cycles
from collector.rules.hourly import measured
from collector.rules.model import PlaceSituation
from collector.rules.spells import Flags, Indices
from collector.theil_sen import theil_sen

DAY_MS = 86_400_000
DAY_STEPS = DAY_MS // STEP_MS
LEAST_KNOWN = 0.75  # of a day: our choice
LEAST_DAYS_OUTSIDE = 10  # our choice: fewer days give no line against the weather
LEAST_RANGE_OUTSIDE_K = 3.0  # our choice: within less the weather explains nothing


@dataclass(frozen=True, slots=True)
class CoolerDays:
    """Day by day, shape (n,) each; NaN where it cannot be told.

    Args:
        day: number of the day since 1970, UTC.
        cycles: whole cycles seen, 0 when the temperature kept still.
        length_min, swing_k: medians over the day's cycles [min, K].
        duty: cooling time over all time of the day's cycles, 0..1.
        mean_c: mean temperature of the air [degC].
        outside_c: mean temperature outside [degC], NaN without an outside probe.
        calm: without rest or a change of target.
        usable: calm, and most of it known.
        era: counts up at each rest or change of target; days of one era can be compared.
    """

    day: Indices
    cycles: Values
    length_min: Values
    duty: Values
    swing_k: Values
    mean_c: Values
    outside_c: Values
    calm: Flags
    usable: Flags
    era: Indices


@dataclass(frozen=True, slots=True)
class Usual:
    """What a measure usually is, with its spread from day to day."""

    value: float
    spread: float


def cooler_days(situation: PlaceSituation, from_day: int, to_day: int) -> CoolerDays:
    """Cycles and means of the days [from_day, to_day), numbered since 1970, UTC.

    Args:
        situation: the place's air, targets and raw temperature; a day without raw readings has no cycles (NaN).
    """
    day = np.arange(from_day, max(from_day, to_day), dtype=np.int64)
    cycles, length, duty, swing = _cycles(situation, day)
    mean, share = _daily_mean(situation.air.start_ms, situation.air.temperature_c, day)
    outside = np.full(len(day), np.nan)
    if situation.outside is not None:
        outside, _ = _daily_mean(situation.outside.start_ms, situation.outside.temperature_c, day)
    calm, era = _calm(situation, day)
    return CoolerDays(day, cycles, length, duty, swing, mean, outside, calm, calm & (share >= LEAST_KNOWN), era)


def usual(values: Values, outside_c: Values, at_outside_c: float, least_spread: float) -> Usual | None:
    """What a measure would be today, by the days of the reference.

    Args:
        values: the measure on each day of the reference, shape (n,).
        outside_c: temperature outside on those days, NaN where unknown.
        at_outside_c: temperature outside today, NaN when unknown.
        least_spread: the spread is taken to be at least this.
    Returns:
        The median, or where ten days with a range of 3 K outside are known, the robust line against the weather; and
        1.4826 times the median absolute deviation from it. None when no day is known.
    """
    known = ~np.isnan(values)
    if not known.any():
        return None
    y, x = values[known], outside_c[known]
    weather = ~np.isnan(x)
    telling = np.count_nonzero(weather) >= LEAST_DAYS_OUTSIDE and np.ptp(x[weather]) >= LEAST_RANGE_OUTSIDE_K
    line = theil_sen(x, y) if telling and not np.isnan(at_outside_c) else None
    if line is None:
        today = float(np.median(y))
        away = np.abs(y - today)
    else:
        beside = (y - line.slope * x)[weather]
        today = float(np.median(beside)) + line.slope * at_outside_c
        away = np.abs(beside - np.median(beside))
    return Usual(today, max(1.4826 * float(np.median(away)), least_spread))


def _cycles(situation: PlaceSituation, day: Indices) -> tuple[Values, Values, Values, Values]:
    """Number, length, duty and swing of each day's cycles."""
    rows = np.full((len(day), 4), np.nan)
    if situation.raw_temperature is not None:
        taken_ms, value = air_readings(situation.raw_temperature)
        edges = np.searchsorted(taken_ms, np.append(day, day[-1:] + 1) * DAY_MS)
        for i, (begin, end) in enumerate(pairwise(edges.tolist())):
            if end > begin:
                rows[i] = _cycle_row(taken_ms[begin:end], value[begin:end])
    return rows[:, 0], rows[:, 1], rows[:, 2], rows[:, 3]


def _cycle_row(taken_ms: Millis, value: Values) -> tuple[float, float, float, float]:
    found = find_cycles(taken_ms, value)
    if len(found) == 0:
        return 0.0, np.nan, np.nan, np.nan
    duty = float(np.sum(found.duty * found.length_min) / np.sum(found.length_min))
    return float(len(found)), float(np.median(found.length_min)), duty, float(np.median(found.swing_k))


def _daily_mean(start_ms: Millis, course: Course, day: Indices) -> tuple[Values, Values]:
    """Time-weighted mean of each day and the share of it that was measured."""
    value = measured(course)
    weight = np.where(np.isnan(value), 0.0, course.known)
    edges = np.searchsorted(start_ms, np.append(day, day[-1:] + 1) * DAY_MS)
    mean, share = np.full(len(day), np.nan), np.zeros(len(day))
    for i, (begin, end) in enumerate(pairwise(edges.tolist())):
        seen = float(weight[begin:end].sum())
        share[i] = seen / DAY_STEPS
        if seen > 0:
            mean[i] = float(np.nansum(weight[begin:end] * value[begin:end])) / seen
    return mean, share


def _calm(situation: PlaceSituation, day: Indices) -> tuple[Flags, Indices]:
    """Which days had neither rest nor a change of target, and the era of each day's end."""
    band, start_ms = situation.temperature_band_c, situation.air.start_ms
    event = situation.resting.copy()
    for limit in (band.low, band.high):
        same = (limit[1:] == limit[:-1]) | (np.isnan(limit[1:]) & np.isnan(limit[:-1]))
        event[1:] |= ~same
    total = np.concatenate([[0], np.cumsum(event)])
    edges = np.searchsorted(start_ms, np.append(day, day[-1:] + 1) * DAY_MS)
    return np.asarray(total[edges[1:]] == total[edges[:-1]]), np.asarray(total[edges[1:]], dtype=np.int64)
