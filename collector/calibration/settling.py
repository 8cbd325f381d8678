"""Whether the readings in a jar over salt have come to rest, and if not, what still moves; pure.

A salt says its humidity only where probe and salt have one temperature: a tenth of a kelvin between them makes half a
point. So a reading is refused while the temperature moves, however still the humidity looks.
"""

from dataclasses import dataclass
from math import log
from typing import Literal

import numpy as np

from collector.readings.model import Millis, Values
from collector.theil_sen import theil_sen

MINUTE_MS = 60_000
HOUR_MS = 3_600_000

Missing = Literal["readings", "time", "temperature", "humidity"]

WINDOW_MS = 40 * MINUTE_MS
LONGEST_WINDOW_MS = 3 * HOUR_MS  # for probes that report rarely
LEAST_READINGS = 6
MOST_READINGS = 200  # of a probe that reports every second, evenly spread: more tell nothing new

# A probe needs 10 to 30 minutes in a salt chamber, 20 to 40 at high humidity (a humidity calibrator's manual); a jar
# made at home is no quicker, so the longest of each is asked for.
AT_LEAST_MS = 30 * MINUTE_MS
AT_LEAST_DAMP_MS = 40 * MINUTE_MS
DAMP_FROM_PCT = 85.0
LAG_MIN = 40.0  # what is left of a way after a rate r is about r times this

# Our choices. Humidity: at 0.4 points an hour and a lag of 40 minutes 0.3 points are left. Temperature: at 0.15 K an
# hour the salt lags behind the probe by 0.1 K, which is what the uncertainty of a jar allows for.
MOST_HUMIDITY_PER_H = 0.4
MOST_TEMPERATURE_PER_H = 0.15
# A cooler's cycle goes up and down and has no slope: so the window must be level as well.
MOST_HUMIDITY_RANGE = 1.5
MOST_TEMPERATURE_RANGE = 0.3
LONGEST_WAIT_MIN = 24 * 60.0


@dataclass(frozen=True, slots=True)
class Course:
    """How one quantity moves in the window: per hour, and between its lowest and highest tenth; NaN if unknown."""

    middle: float
    per_h: float
    reach: float
    readings: int


@dataclass(frozen=True, slots=True)
class Settling:
    """Where a test stands.

    Args:
        missing: what is still missing, nothing when the reading can be taken: more readings, more time since the jar
            was closed, a still temperature, a still humidity.
        reading_pct: median humidity of the window [%RH]. reading_u_pct: its standard uncertainty.
        temperature_c: median temperature of the window [degC].
        humidity_per_h, temperature_per_h: how fast they move now [%RH/h], [K/h].
        wait_min: how long it may take still [min]; None when the course does not tell.
    """

    missing: tuple[Missing, ...]
    reading_pct: float
    reading_u_pct: float
    temperature_c: float
    humidity_per_h: float
    temperature_per_h: float
    wait_min: float | None

    @property
    def settled(self) -> bool:
        return not self.missing


def settling(
    humidity_taken_ms: Millis,
    humidity_pct: Values,
    temperature_taken_ms: Millis,
    temperature_c: Values,
    closed_ms: int,
    now_ms: int,
) -> Settling:
    """Whether a probe in a closed jar over salt has come to rest.

    Args:
        humidity_taken_ms, humidity_pct: readings of the probe itself [%RH], rising in time, shape (n,). NaN is a gap.
        temperature_taken_ms, temperature_c: readings of a thermometer in the jar [degC], shape (m,).
        closed_ms: when the jar was closed [ms]; earlier readings are not looked at.
        now_ms: the end of the window [ms].
    Returns:
        Where the test stands; numbers are NaN as long as nothing was read.
    Source: Theil-Sen slopes of the last 40 minutes, or of as long as six readings take; limits as above.
    """
    humidity = _window(humidity_taken_ms, humidity_pct, closed_ms, now_ms)
    temperature = _window(temperature_taken_ms, temperature_c, closed_ms, now_ms)
    rh, t = _course(*humidity), _course(*temperature)
    missing = _missing(rh, t, now_ms - closed_ms)
    return Settling(
        missing,
        reading_pct=rh.middle,
        reading_u_pct=_uncertainty(humidity[1]),
        temperature_c=t.middle,
        humidity_per_h=rh.per_h,
        temperature_per_h=t.per_h,
        wait_min=_wait_min(missing, rh, t, now_ms - closed_ms),
    )


def _window(taken_ms: Millis, values: Values, closed_ms: int, now_ms: int) -> tuple[Millis, Values]:
    inside = (taken_ms >= max(closed_ms, now_ms - LONGEST_WINDOW_MS)) & (taken_ms <= now_ms) & ~np.isnan(values)
    taken, values = taken_ms[inside], values[inside]
    late = int(np.searchsorted(taken, now_ms - WINDOW_MS, side="left"))
    start = max(0, min(late, len(taken) - LEAST_READINGS))
    every = -(-(len(taken) - start) // MOST_READINGS) or 1
    return taken[start::every], values[start::every]


def _course(taken_ms: Millis, values: Values) -> Course:
    if not len(values):
        return Course(np.nan, np.nan, np.nan, 0)
    line = theil_sen((taken_ms - taken_ms[-1]) / HOUR_MS, values)
    lowest, highest = np.quantile(values, [0.1, 0.9])
    per_h = np.nan if line is None else line.slope
    return Course(float(np.median(values)), per_h, float(highest - lowest), len(values))


def _missing(rh: Course, t: Course, since_closed_ms: int) -> tuple[Missing, ...]:
    found: list[Missing] = []
    if min(rh.readings, t.readings) < LEAST_READINGS:
        found.append("readings")
    if since_closed_ms < _at_least_ms(rh):
        found.append("time")
    if _moves(t, MOST_TEMPERATURE_PER_H, MOST_TEMPERATURE_RANGE):
        found.append("temperature")
    if _moves(rh, MOST_HUMIDITY_PER_H, MOST_HUMIDITY_RANGE):
        found.append("humidity")
    return tuple(found)


def _moves(course: Course, per_h: float, reach: float) -> bool:
    return abs(course.per_h) > per_h or course.reach > reach


def _at_least_ms(rh: Course) -> int:
    return AT_LEAST_DAMP_MS if rh.middle >= DAMP_FROM_PCT else AT_LEAST_MS


def _uncertainty(values: Values) -> float:
    """Of the median: its scatter by the median of deviations, and the step in which the probe reports."""
    if not len(values):
        return float("nan")
    spread = 1.4826 * float(np.median(np.abs(values - np.median(values))))
    steps = np.diff(np.unique(values))
    resolution = float(steps.min()) if len(steps) else 0.0
    return float(np.hypot(1.253 * spread / np.sqrt(len(values)), resolution / np.sqrt(12)))


def _wait_min(missing: tuple[Missing, ...], rh: Course, t: Course, since_closed_ms: int) -> float | None:
    if not missing:
        return 0.0
    if "readings" in missing or _swings(t, MOST_TEMPERATURE_PER_H, MOST_TEMPERATURE_RANGE):
        return None
    waits = [(_at_least_ms(rh) - since_closed_ms) / MINUTE_MS, _decay_min(t, MOST_TEMPERATURE_PER_H)]
    waits.append(_decay_min(rh, MOST_HUMIDITY_PER_H))
    return min(max(waits), LONGEST_WAIT_MIN)


def _swings(course: Course, per_h: float, reach: float) -> bool:
    """It goes up and down without a slope: waiting does not help, a steadier spot does."""
    return course.reach > reach and abs(course.per_h) <= per_h


def _decay_min(course: Course, per_h: float) -> float:
    """How long until a rate has fallen to what is borne, if it dies away with the usual lag [min].

    A window as long as the lag still sees the rate of half a window ago, which is why half of one is added.
    """
    if not abs(course.per_h) > per_h:
        return 0.0
    return LAG_MIN * log(abs(course.per_h) / per_h) + WINDOW_MS / MINUTE_MS / 2
