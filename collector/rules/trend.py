"""Where a quantity is heading: a robust slope over hourly medians, its daily course removed; pure.

A cave has a day: it warms in the afternoon and cools at night, and a slope over part of a day would call that a trend.
So the usual course of the day, from the week before, is taken off first. What is left still wanders, each hour like
the one before; the interval of the slope is widened for that.
"""

from dataclasses import dataclass

import numpy as np

from collector.readings.model import Millis, Values
from collector.rules.spells import HOUR_STEPS
from collector.theil_sen import Line, theil_sen

HOUR_MS = 3_600_000
DAY_H = 24
COURSE_DAYS = 7  # our choice: a week has seen the household's habits
LEAST_COURSE_DAYS = 3  # our choice: of fewer days the median is one of them
POINTS = 24
LEAST_POINTS = 18
CONFIDENCE = 0.95
FURTHEST_H = 96  # our choice: beyond four days a straight line is a guess


@dataclass(frozen=True, slots=True)
class Hours:
    """Medians of whole hours: number of the hour since 1970, shape (n,), and its median, NaN where unknown."""

    number: Millis
    median: Values


@dataclass(frozen=True, slots=True)
class Trend:
    """A slope that was found.

    Args:
        line: value over hours, 0 at the end of the last hour; the daily course is taken off.
        pivot_h: the median of the points' times, about which slopes turn.
        course: usual deviation of each of the coming 24 hours from the day's mean; zeros when the record is too short.
        window_h: hours looked at.
    """

    line: Line
    pivot_h: float
    course: Values
    window_h: int

    @property
    def known_course(self) -> bool:
        return bool(np.any(self.course))

    def hours_to(self, limit: float, sign: int, slope: float) -> float | None:
        """Hours until the limit is passed at a slope; None when that is not within `FURTHEST_H`."""
        ahead = np.arange(1, FURTHEST_H + 1)
        level = self.line.intercept + (self.line.slope - slope) * self.pivot_h
        course = np.resize(self.course, FURTHEST_H)
        beyond = sign * (level + slope * ahead + course - limit) > 0
        if not beyond.any():
            return None
        first = int(np.argmax(beyond))
        return self._within_the_hour(first, sign * (level - limit), sign * slope)

    def _within_the_hour(self, first: int, excess: float, outward: float) -> float:
        """The crossing between two hours, exact where there is no daily course."""
        if self.known_course or outward <= 0:
            return float(first + 1)
        return float(np.clip(-excess / outward, 0.0, first + 1))


def hourly_medians(start_ms: Millis, value: Values) -> Hours:
    """Medians of the whole hours on a ten-minute grid.

    Args:
        start_ms: beginnings of the steps, every ten minutes without holes, shape (n,).
        value: means of the steps, shape (n,), NaN where unknown.
    Returns:
        Hours that lie wholly on the grid; NaN where less than three of an hour's steps are known.
    """
    lead = int(-(start_ms[0] // (HOUR_MS // HOUR_STEPS)) % HOUR_STEPS) if len(start_ms) else 0
    whole = max(0, (len(value) - lead) // HOUR_STEPS)
    rows = value[lead : lead + whole * HOUR_STEPS].reshape(whole, HOUR_STEPS)
    number = start_ms[lead : lead + whole * HOUR_STEPS : HOUR_STEPS] // HOUR_MS
    return Hours(np.asarray(number, dtype=np.int64), median_of_known(rows, HOUR_STEPS // 2))


def median_of_known(rows: Values, least: int) -> Values:
    """Median of each row's known values, NaN where fewer than `least` are known."""
    known = np.count_nonzero(~np.isnan(rows), axis=1)
    ordered = np.sort(rows, axis=1)  # NaN last
    index = np.arange(len(rows))
    half = np.maximum(known, 1)
    middle = (ordered[index, (half - 1) // 2] + ordered[index, half // 2]) / 2
    return np.where(known >= least, middle, np.nan)


def daily_course(median: Values) -> Values:
    """The usual deviation of each hour of the day from the level of its days.

    The level is drawn from one day's median to the next, so that a trend of days is none of the day's course.

    Args:
        median: hourly medians of whole days, the last hour last, shape (24 k,).
    Returns:
        Shape (24,), beginning with the hour after the last; zeros when fewer than three days are known well
        enough, or some hour of the day is not.
    """
    if len(median) < LEAST_COURSE_DAYS * DAY_H:
        return np.zeros(DAY_H)
    days = median.reshape(-1, DAY_H)
    centre = median_of_known(days, DAY_H * 3 // 4)
    known = np.flatnonzero(~np.isnan(centre))
    if len(known) < LEAST_COURSE_DAYS:
        return np.zeros(DAY_H)
    level = np.interp(np.arange(len(median)), DAY_H * known + (DAY_H - 1) / 2, centre[known])
    course = median_of_known((median - level).reshape(-1, DAY_H).T, LEAST_COURSE_DAYS)
    return np.zeros(DAY_H) if np.isnan(course).any() else course


def trend_at(median: Values, last: int, hours_per_point: int) -> Trend | None:
    """The trend at the end of an hour.

    Args:
        median: hourly medians, shape (n,). last: index of the last hour to look at.
        hours_per_point: hours that are taken together, 1 or more; 24 points make the window.
    Returns:
        The trend, or None when the window reaches before the record or is not known well enough.
    Source: Theil-Sen with an interval widened for autocorrelation, `collector.theil_sen`.
    """
    window = POINTS * hours_per_point
    begin = last + 1 - window
    if begin < 0 or np.isnan(median[last - 2 : last + 1]).all():
        return None
    before = median[max(begin % DAY_H, begin - COURSE_DAYS * DAY_H) : begin]
    course = daily_course(before)
    flat = median[begin : last + 1] - np.resize(course, window)
    points = median_of_known(flat.reshape(POINTS, hours_per_point), (hours_per_point + 1) // 2)
    if np.count_nonzero(~np.isnan(points)) < LEAST_POINTS:
        return None
    at_h = np.asarray((np.arange(POINTS) + 0.5) * hours_per_point - window, dtype=np.float64)
    line = theil_sen(at_h, points, CONFIDENCE, correlated=True)
    if line is None:
        return None
    pivot_h = float(np.median(at_h[~np.isnan(points)]))
    return Trend(line, pivot_h, np.roll(course, -(window % DAY_H)), window)
