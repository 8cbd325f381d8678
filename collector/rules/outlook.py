"""What one hour says of where the air is heading, side by side of its bands; pure.

Two windows are looked at, one day and three days long. A side is being left when the slope leads out, zero lies outside
its widened interval, it moves the air by something that matters, the air stands further out than it gets by itself,
and it passes the limit within a day and a half. A slope alone does not do: a quiet cave wanders up and down for days,
and each way looks like a trend while it lasts. A drift that was warned of within a window is not foretold again, and a
target that was changed on purpose, or a rest, blanks the windows that reach back to the day after it.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np

from collector.readings.model import Values
from collector.rules.against_limit import rounded
from collector.rules.drift import Side, course_and_band, drift_signal
from collector.rules.hourly import measured
from collector.rules.model import PlaceSituation
from collector.rules.spells import HOUR_STEPS, Flags, Indices, open_steps
from collector.rules.targets import SETTLE_STEPS
from collector.rules.trend import DAY_H, POINTS, Hours, Trend, hourly_medians, median_of_known, trend_at

HORIZON_H = 36.0  # our choice: whoever looks once a day still has half a day to act
GOING_H = 60.0  # our choice: a spell goes on while the limit is less than two and a half days away
SAME_HOURS = 6  # taken together when today is compared with the same hours before
SETTLE_H = SETTLE_STEPS // HOUR_STEPS
HOURS_PER_POINT = (1, 3)
WINDOWS_H = tuple(POINTS * hours for hours in HOURS_PER_POINT)
USUAL_DAYS = 14  # our choice: two weeks show what a cave does by itself
LEAST_USUAL_DAYS = 4
USUAL_SHARE = 0.9
BEYOND_USUAL = 2.8  # times as far out as it gets nine days in ten: tuned, see tests/bench/bench_drift.py
LOOKED_BACK_H = WINDOWS_H[-1] + USUAL_DAYS * DAY_H + SAME_HOURS
LEAST_PER_DAY = {"temperature": 0.5, "humidity": 1.0}  # our choice: less is no reason to go down to the cave


@dataclass(frozen=True, slots=True)
class Outlook:
    """What one hour says of one side of one band: where it stands, and when it will be at the limit [h]."""

    side: Side
    trend: Trend
    limit: float
    hours: float | None
    hours_least: float | None
    hours_most: float | None

    @property
    def per_day(self) -> float:
        return self.trend.line.slope * DAY_H

    @property
    def leaving(self) -> bool:
        """Zero lies outside the interval, the change matters, and the limit is near."""
        line, sign = self.trend.line, self.side.sign
        real = min(sign * line.low, sign * line.high) > 0
        matters = sign * self.per_day >= LEAST_PER_DAY[self.side.quantity]
        return real and matters and self.hours is not None and self.hours <= HORIZON_H

    @property
    def going(self) -> bool:
        """Not worth a warning by itself, but enough to keep one."""
        return self.hours is not None and self.hours <= GOING_H

    def facts(self) -> dict[str, Any]:
        return {
            "quantity": self.side.quantity,
            "unit": self.side.unit,
            "side": "high" if self.side.sign > 0 else "low",
            "limit": rounded(self.limit),
            "level": rounded(self.trend.line.intercept),
            "hours_to_limit": _hours(self.hours),
            "hours_least": _hours(self.hours_least),
            "hours_most": _hours(self.hours_most),
            "per_day": rounded(self.per_day),
            "window_h": self.trend.window_h,
        }


@dataclass(frozen=True, slots=True)
class WatchedSide:
    """One side of a band with all that looking at it needs.

    Args:
        side: the row of `SIDES`.
        hours: hourly medians of its quantity.
        last_step: index of the last ten-minute step of each hour.
        limit: on each hour, NaN where there is none.
        excess: how far outside the judged value is on each hour.
        drifting: hours in which its drift has been warned of.
        settled_h: hours since the target or a rest changed, on each hour.
        since_drift_h: hours since such a drift ended.
        further_out: by window, whether the air lies further out than at the same hours before by enough.
    """

    side: Side
    hours: Hours
    last_step: Indices
    limit: Values
    excess: Values
    drifting: Flags
    settled_h: Values
    since_drift_h: Values
    further_out: tuple[Flags, ...]
    level: Values

    @property
    def unknown(self) -> Flags:
        return np.asarray(np.isnan(self.hours.median) & ~np.isnan(self.limit))

    def looks(self, hour: int) -> Iterator[Outlook]:
        """The outlooks of an hour, that of the longest window first."""
        if np.isnan(self.limit[hour]) or self.drifting[hour]:
            return
        for window in reversed(range(len(WINDOWS_H))):
            if (
                self.further_out[window][hour]
                and self.settled_h[hour] >= WINDOWS_H[window] + SETTLE_H
                and self.since_drift_h[hour] >= WINDOWS_H[window]
                and self._unusual(hour, WINDOWS_H[window])
            ):
                trend = trend_at(self.hours.median, hour, HOURS_PER_POINT[window])
                if trend is not None:
                    yield self._outlook(trend, float(self.limit[hour]))

    def _unusual(self, hour: int, window_h: int) -> bool:
        """Whether the air stands clearly further out than it gets by itself, as the weeks before the window show."""
        begin = hour + 1 - window_h
        before = self.side.sign * self.level[max(0, begin - USUAL_DAYS * DAY_H) : begin]
        before = before[~np.isnan(before)]
        if len(before) < LEAST_USUAL_DAYS * DAY_H:
            return False
        before.sort()
        centre, far = before[len(before) // 2], before[int(USUAL_SHARE * len(before))]
        return bool(self.side.sign * self.level[hour] >= centre + BEYOND_USUAL * (far - centre))

    def _outlook(self, trend: Trend, limit: float) -> Outlook:
        line, sign = trend.line, self.side.sign
        slow, fast = sorted((line.low, line.high), key=lambda slope: sign * slope)
        hours, least, most = (trend.hours_to(limit, sign, slope) for slope in (line.slope, fast, slow))
        return Outlook(self.side, trend, limit, hours, least, most)


def watched_side(side: Side, situation: PlaceSituation) -> WatchedSide:
    """Gather what looking at one side of a band needs.

    Args:
        side: a row of `SIDES`. situation: the place's air and targets.
    Returns:
        One entry an hour, for the hours that lie wholly on the grid.
    """
    course, band = course_and_band(side.quantity, situation)
    start_ms = situation.air.start_ms
    hours = hourly_medians(start_ms, measured(course))
    lead = int(np.searchsorted(start_ms, hours.number[0] * 3_600_000)) if len(hours.number) else 0
    last_step = np.asarray(lead + HOUR_STEPS * np.arange(len(hours.number)) + HOUR_STEPS - 1, dtype=np.int64)
    signal = drift_signal(side, situation)
    drifting = open_steps(signal.steps(), situation.grace_ms)
    since_change = _steps_since_change(band.high if side.sign > 0 else band.low, situation.resting)
    excess = signal.excess[last_step]
    level = _level(hours.median)
    return WatchedSide(
        side=side,
        hours=hours,
        last_step=last_step,
        limit=np.where(situation.resting, np.nan, signal.limit)[last_step],
        excess=excess,
        drifting=drifting[last_step],
        settled_h=since_change[last_step] / HOUR_STEPS,
        since_drift_h=_steps_since(drifting)[last_step] / HOUR_STEPS,
        further_out=tuple(_further_out(side.sign, level, excess, window) for window in WINDOWS_H),
        level=level,
    )


def _level(median: Values) -> Values:
    """Median of each hour and the five before it."""
    level = np.full(len(median), np.nan)
    if len(median) >= SAME_HOURS:
        rows = np.lib.stride_tricks.sliding_window_view(median, SAME_HOURS)
        level[SAME_HOURS - 1 :] = median_of_known(rows, SAME_HOURS // 2)
    return level


def _further_out(sign: int, level: Values, excess: Values, window_h: int) -> Flags:
    """Whether the air lies so much further out than at the same hours before that the limit could be near."""
    n = len(level)
    moved = np.full(n, np.nan)
    moved[window_h:] = sign * (level[window_h:] - level[: max(0, n - window_h)])
    return np.asarray((moved > 0) & (moved * 2 * GOING_H >= -excess * window_h))


def _steps_since_change(limit: Values, resting: Flags) -> Values:
    """Steps since the limit changed or the place rested; before the first change, as if never."""
    changed = resting.copy()
    same = (limit[1:] == limit[:-1]) | (np.isnan(limit[1:]) & np.isnan(limit[:-1]))
    changed[1:] |= ~same
    return _steps_since(changed)


def _steps_since(flags: Flags) -> Values:
    """Steps since the last set flag, infinite before the first."""
    index = np.arange(len(flags), dtype=np.float64)
    return np.asarray(index - np.maximum.accumulate(np.where(flags, index, -np.inf)))


def _hours(hours: float | None) -> float | None:
    return None if hours is None else round(hours, 1)
