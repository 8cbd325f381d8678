"""The best hours of the coming day for airing, as the last days went outside; pure."""

from dataclasses import dataclass

import numpy as np

from collector.air.model import Air
from collector.moist_air import vapour_pressure_pa
from collector.readings.model import Millis, Values
from collector.rules.airing import LEAST_CHANGE_K, LEAST_WATER_G_M3, AirNow, Place, Want, condenses_on, water_g_m3
from collector.rules.dew_margin import measured_air
from collector.rules.trend import DAY_H, HOUR_MS
from collector.saturation import KELVIN_AT_0_C, OVER_WATER

DAYS_SEEN, LEAST_DAYS = 5, 2  # our choice: the weather of a week ago says nothing of tomorrow


@dataclass(frozen=True, slots=True)
class AiringHour:
    """What the last days say of one coming hour.

    Args:
        start_ms: its beginning. days: how many days it is taken from.
        water_g_m3, change_k: as in `Airing`, the median of those days; `water_spread_g_m3` half their range.
        condenses_on: where water would come down on the median day.
        gain: what is wanted of it, in its unit [g/m3 or K]; more is better.
        good: the gain is larger than the days differ, and nothing gets wet.
    """

    start_ms: int
    days: int
    water_g_m3: float
    water_spread_g_m3: float
    change_k: float
    condenses_on: tuple[Place, ...]
    gain: float
    good: bool


def coming_hours(
    inside: AirNow, outside: Air, now_ms: int, want: Want, surface_c: float | None = None
) -> tuple[AiringHour, ...]:
    """The coming day hour by hour, as the last days went.

    Args:
        inside: the cave's air now. outside: the outside air on its grid, up to now; five days are used.
        now_ms: the present [ms]. want: what the airing is for.
        surface_c: the coldest surface that is known [degC], or None.
    Returns:
        The hours of the coming 24 that at least two days tell of, in order of time; none when the record outside is
        shorter. Hours are those of UTC, so that on the day when clocks change they lie an hour off the habits.
    Raises:
        ValueError: a value of `inside` outside its range.
    Source: our choice, the median of the same hour on the days before.
    """
    begin = now_ms // HOUR_MS * HOUR_MS
    temperature, humidity = measured_air(outside)
    vapour = vapour_pressure_pa(temperature, humidity)
    ours = float(vapour_pressure_pa(inside.temperature_c, inside.humidity_pct))
    found = []
    for start_ms in range(begin, begin + DAY_H * HOUR_MS, HOUR_MS):
        days = [start_ms - (k + 1) * DAY_H * HOUR_MS for k in range(DAYS_SEEN)]
        seen = np.array([_hour_means(outside.start_ms, temperature, vapour, day_ms) for day_ms in days])
        seen = seen[~np.isnan(seen).any(axis=1)]
        if len(seen) >= LEAST_DAYS:
            found.append(_hour(start_ms, seen, inside, ours, want, surface_c))
    return tuple(found)


def best_hours(hours: tuple[AiringHour, ...], most: int = 3) -> tuple[AiringHour, ...]:
    """The good hours with the largest gain, in order of time."""
    good = sorted((hour for hour in hours if hour.good), key=lambda hour: -hour.gain)[:most]
    return tuple(sorted(good, key=lambda hour: hour.start_ms))


def _hour(
    start_ms: int, seen: Values, inside: AirNow, ours_pa: float, want: Want, surface_c: float | None
) -> AiringHour:
    """One coming hour from the same hour of some days: columns temperature [degC] and vapour pressure [Pa]."""
    outside_c, outside_pa = (float(value) for value in np.median(seen, axis=0))
    changes = seen - np.array([inside.temperature_c, ours_pa])
    water = np.array([water_g_m3(float(pa), inside.temperature_c) for pa in changes[:, 1]])
    dew_c = float(OVER_WATER.temperature_k(np.log(np.asarray(outside_pa))) - KELVIN_AT_0_C)
    wet = condenses_on(dew_c, inside.temperature_c, surface_c)
    of_water = want in ("drier", "damper")
    each = (water if of_water else changes[:, 0]) * (1 if want in ("damper", "warmer") else -1)
    least = LEAST_WATER_G_M3 if of_water else LEAST_CHANGE_K
    gain, spread = float(np.median(each)), float(np.ptp(each)) / 2
    return AiringHour(
        start_ms=start_ms,
        days=len(seen),
        water_g_m3=float(np.median(water)),
        water_spread_g_m3=float(np.ptp(water)) / 2,
        change_k=outside_c - inside.temperature_c,
        condenses_on=wet,
        gain=gain,
        good=gain > max(least, spread) and not wet,
    )


def _hour_means(start_ms: Millis, temperature_c: Values, vapour_pa: Values, hour_ms: int) -> tuple[float, float]:
    begin, end = np.searchsorted(start_ms, [hour_ms, hour_ms + HOUR_MS])
    known = ~np.isnan(vapour_pa[begin:end])
    if not known.any():
        return np.nan, np.nan
    return float(temperature_c[begin:end][known].mean()), float(vapour_pa[begin:end][known].mean())
