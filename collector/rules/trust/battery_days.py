"""What the course of a battery over the last weeks says on one day: its kind, and when it will be empty; pure."""

from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np

from collector.readings.model import Millis, Values
from collector.rules.trust.batteries import Battery, battery_of
from collector.theil_sen import theil_sen

DAY_MS = 86_400_000
WINDOW_DAYS = 30
LEAST_DAYS = 7  # our choice: a week of daily values carries a line
CONFIDENCE = 0.9
FARTHEST_DAYS = 3_650.0  # our choice: what lies further ahead than ten years is not told


@dataclass(frozen=True, slots=True)
class Forecast:
    """When a battery will be empty, by the slope and by the ends of its 90 % interval; `per_day` is negative."""

    per_day: float
    empty_ms: int
    earliest_ms: int
    latest_ms: int


@dataclass(frozen=True, slots=True)
class BatteryDay:
    """What is known on a day from the month before it.

    Args:
        battery: its kind. yesterday, lowest: the last and the lowest daily level, NaN when unknown.
        forecast: when it will be empty, where the month tells.
    """

    battery: Battery | None
    yesterday: float
    lowest: float
    forecast: Forecast | None

    def numbers(self) -> tuple[float, float, float, float]:
        """Levels at which it is low, at which it was replaced, and at which it was charged; when empty [ms]."""
        empty_ms = np.nan if self.forecast is None else float(self.forecast.empty_ms)
        if self.battery is None:
            return np.nan, np.nan, np.nan, empty_ms
        charged = max(self.battery.well, self.lowest + self.battery.replaced / 2)
        return self.battery.low, self.yesterday + self.battery.replaced, charged, empty_ms

    def kind(self) -> dict[str, Any]:
        """What battery it seems to be, for a message."""
        if self.battery is None:
            return {"kind": None, "empty_level": None}
        return {"kind": self.battery.kind, "empty_level": self.battery.empty}

    def course(self) -> dict[str, Any]:
        """Where it is heading, for a message; None where that is not known."""
        return {
            name: getattr(self.forecast, name, None) for name in ("per_day", "empty_ms", "earliest_ms", "latest_ms")
        }


def battery_day(quantity: str, taken_ms: Millis, level: Values, day: int) -> BatteryDay:
    """What the month before a day tells of a battery.

    Args:
        quantity: "battery" [%EL] or "battery_voltage" [V].
        taken_ms: times of readings, rising, shape (n,) [ms].
        level: those readings, canonical unit, without NaN.
        day: number of the day since 1970, UTC; only readings before it are looked at.
    Returns:
        The kind of battery, the last known daily level and the forecast, each as far as known.
    Raises:
        ValueError: another quantity.
    Source: Theil-Sen line (collector/theil_sen.py) through daily medians since the last fresh battery.
    """
    medians = _daily_medians(taken_ms, level, day)
    known = np.flatnonzero(~np.isnan(medians))
    if not len(known):
        return BatteryDay(battery_of(quantity, 0.0) if quantity == "battery" else None, np.nan, np.nan, None)
    battery = battery_of(quantity, float(medians[known].max()))
    forecast = None if battery is None else _forecast(medians, known, battery, day)
    return BatteryDay(battery, float(medians[known[-1]]), float(medians[known].min()), forecast)


def _daily_medians(taken_ms: Millis, level: Values, day: int) -> Values:
    """Medians of the 30 days before a day, the oldest first; NaN for a day without readings."""
    edges = np.searchsorted(taken_ms, np.arange(day - WINDOW_DAYS, day + 1) * DAY_MS, side="left")
    return np.array([np.median(level[a:b]) if b > a else np.nan for a, b in pairwise(edges)])


def _forecast(medians: Values, known: Millis, battery: Battery, day: int) -> Forecast | None:
    rises = np.flatnonzero(np.diff(medians[known]) >= battery.replaced)
    since = known[rises[-1] + 1 :] if len(rises) else known
    if len(since) < LEAST_DAYS:
        return None
    middle = (day - WINDOW_DAYS + since + 0.5) * DAY_MS
    line = theil_sen((middle - middle[-1]) / DAY_MS, medians[since], CONFIDENCE, correlated=True)
    if line is None or line.high >= 0:
        return None
    left = max(line.intercept - battery.empty, 0.0)

    def empty_ms(per_day: float) -> int:
        return int(middle[-1] + min(left / -per_day, FARTHEST_DAYS) * DAY_MS)

    return Forecast(line.slope, empty_ms(line.slope), empty_ms(line.low), empty_ms(line.high))
