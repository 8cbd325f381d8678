"""The numbers under a chart of air, period by period in the household's days."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date, datetime
from itertools import pairwise
from typing import Literal

import numpy as np

from collector.readings.model import Millis, Values
from collector.records.columns import from_ms
from dashboard import words
from dashboard.charts.air_course import AirCourse
from dashboard.charts.reduce import Line
from dashboard.charts.spans import DAY_MS, HOUR_MS, Window
from dashboard.charts.wall_time import wall_ms
from dashboard.household import Household

Period = Literal["step", "hour", "day", "week", "month", "year"]
# How long a window may be to be told by each period: at most some forty rows.
UP_TO: tuple[tuple[int, Period], ...] = (
    (3 * HOUR_MS, "step"), (2 * DAY_MS, "hour"), (40 * DAY_MS, "day"), (200 * DAY_MS, "week"), (1200 * DAY_MS, "month"),
)  # fmt: skip
MONDAY = 3  # 1 January 1970 was a Thursday


@dataclass(frozen=True, slots=True)
class AirRow:
    """One period: when, and in words what the air was; "" where nothing is known."""

    when: str
    temperature: str
    humidity: str
    dew_point: str
    unknown: str

    def texts(self) -> tuple[str, ...]:
        return self.when, self.temperature, self.humidity, self.dew_point, self.unknown


def columns(household: Household) -> tuple[str, ...]:
    """What stands over the table."""
    unit = f"°{household.temperature_unit}"
    return "When", f"Temperature {unit}", "Humidity %", f"Dew point {unit}", "Unknown"


def air_rows(course: AirCourse, shown: Window, household: Household) -> list[AirRow]:
    """Mean, lowest and highest of each period, the newest first; what was before the first reading is left out.

    Args:
        course: the air of the window; each of its points counts for the period in which it begins.
        shown: the window. household: its zone and units.
    """
    period = period_of(shown)
    found = [
        _row(course, begin, end, period, again, household)
        for begin, end, again in _periods(course.start_ms, period, household)
    ]
    return [row for i, row in enumerate(found) if any(map(_is_known, found[: i + 1]))][::-1]


def _is_known(row: AirRow) -> bool:
    return bool(row.temperature or row.humidity)


def period_of(shown: Window) -> Period:
    """The periods in which a window is told."""
    return next((period for longest, period in UP_TO if shown.length_ms <= longest), "year")


def _periods(start_ms: Millis, period: Period, household: Household) -> Iterator[tuple[int, int, bool]]:
    """Runs of points of one period: index of the first, index after the last, and whether its hour came before."""
    wall = wall_ms(start_ms, household.zone)
    keys = _keys(wall, period)
    # The repeated hour of October is two rows: what is the same on the wall differs in UTC.
    offset = wall - start_ms if period in ("step", "hour") else np.zeros(len(wall), dtype=np.int64)
    new = np.concatenate([[True], (np.diff(keys) != 0) | (np.diff(offset) != 0)])
    edges = [*np.flatnonzero(new).tolist(), len(keys)]
    for begin, end in pairwise(edges):
        yield begin, end, begin > 0 and bool((keys[:begin] == keys[begin]).any())


def _keys(wall: Millis, period: Period) -> Millis:
    """A number that is the same within a period of the wall's time."""
    at = wall.astype("datetime64[ms]")
    match period:
        case "step":
            return wall
        case "hour":
            return at.astype("datetime64[h]").astype(np.int64)
        case "day":
            return at.astype("datetime64[D]").astype(np.int64)
        case "week":
            return (at.astype("datetime64[D]").astype(np.int64) + MONDAY) // 7
        case "month":
            return at.astype("datetime64[M]").astype(np.int64)
        case "year":
            return at.astype("datetime64[Y]").astype(np.int64)


def _row(course: AirCourse, begin: int, end: int, period: Period, again: bool, household: Household) -> AirRow:
    rows = slice(begin, end)
    at = from_ms(int(course.start_ms[begin]))
    unknown_ms = float((1 - np.minimum(course.temperature.known, course.humidity.known)[rows]).sum()) * course.bucket_ms
    return AirRow(
        when(at, period, household) + (" again" if again else ""),
        _cell(course.temperature, rows, lambda value: words.temperature(value, household).partition(" ")[0]),
        _cell(course.humidity, rows, lambda value: f"{value:.0f}"),
        _mean(course.dew_point, rows, lambda value: words.temperature(value, household).partition(" ")[0]),
        words.duration(unknown_ms / 1_000) if unknown_ms >= 60_000 else "",
    )


def when(at: datetime, period: Period, household: Household) -> str:
    """A period as a person calls it."""
    day = at.astimezone(household.zone).date()
    match period:
        case "step" | "hour":
            return f"{words.short_date(day, household)} {words.clock_time(at, household)}"
        case "day":
            return words.short_date(day, household)
        case "week":
            monday = date.fromordinal(day.toordinal() - day.weekday())
            return f"week of {words.short_date(monday, household)}"
        case "month":
            return f"{words.MONTHS[day.month - 1]} {day.year}"
        case "year":
            return str(day.year)


def _cell(line: Line, rows: slice, text: Callable[[float], str]) -> str:
    mean = _weighted(line.mean[rows], line.known[rows])
    if mean is None:
        return ""
    low, high = float(np.nanmin(line.low[rows])), float(np.nanmax(line.high[rows]))
    return f"{text(mean)} ({text(low)} to {text(high)})"


def _mean(line: Line, rows: slice, text: Callable[[float], str]) -> str:
    mean = _weighted(line.mean[rows], line.known[rows])
    return "" if mean is None else text(mean)


def _weighted(mean: Values, known: Values) -> float | None:
    some = ~np.isnan(mean)
    if not some.any():
        return None
    weight = known[some] if known[some].sum() > 0 else np.ones(int(some.sum()))
    return float(np.average(mean[some], weights=weight))
