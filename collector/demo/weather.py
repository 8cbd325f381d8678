"""The air outside the demo's dairy: season, course of the day, and spells of weather that last several days.

A pure function of (seed, absolute time). The climate is invented: mild, damp, northern; no station was copied.
"""

from dataclasses import dataclass

import numpy as np

from collector.demo.noise import FloatArray, TimeArray, turn, wander
from collector.demo.vapour import saturated_kg_m3

HOUR_MS = 3_600_000
DAY_MS = 24 * HOUR_MS
# The mean tropical year, and a winter's depth on 17 January 1970: the phase of the season.
YEAR_MS = round(365.2422 * DAY_MS)
COLDEST_AT_MS = 16 * DAY_MS
WARMEST_HOUR_UTC = 14.5

MEAN_C = 10.4
SEASON_C = 7.6
DAY_WINTER_C = 1.7
DAY_SUMMER_C = 4.6
# Spells: a slow one of a fortnight's length, fronts of some four days, and the gusts and clouds of the hours.
SPELLS: tuple[tuple[str, int, float], ...] = (
    ("outside/slow", 120 * HOUR_MS, 1.9),
    ("outside/front", 34 * HOUR_MS, 2.2),
    ("outside/hours", 3 * HOUR_MS, 0.45),
)
# How far the dew point lies below the mean temperature of the day, in winter and in summer.
DRYNESS_WINTER_K = 2.0
DRYNESS_SUMMER_K = 4.6
DRYNESS_SPREAD_K = 1.7
MOST_HUMID = 0.995
SEA_LEVEL_PA = 101_300.0
PRESSURE_SPREAD_PA = 950.0


@dataclass(frozen=True, slots=True)
class OutsideAir:
    """Temperature [degC], vapour [kg/m3] and barometric pressure [Pa] at the same times."""

    temperature_c: FloatArray
    vapour_kg_m3: FloatArray
    pressure_pa: FloatArray


def season(at_ms: TimeArray, late_ms: int = 0) -> FloatArray:
    """Where the year stands: -1 in the depth of winter, 1 at the height of summer.

    Args:
        at_ms: times [ms since 1970, UTC].
        late_ms: by how much the thing asked for lags behind the sun's year [ms].
    Returns:
        -1 to 1, the same shape.
    """
    return -turn((at_ms - COLDEST_AT_MS - late_ms) / YEAR_MS)


def mild_c(seed: int, at_ms: TimeArray) -> FloatArray:
    """Outside temperature without days and fronts: season and slow spells, which soil and houses follow.

    Args:
        seed: the world's seed.
        at_ms: times [ms since 1970, UTC], in order.
    Returns:
        Temperature [degC], the same shape.
    """
    name, knot_ms, spread_c = SPELLS[0]
    return MEAN_C + SEASON_C * season(at_ms) + spread_c * wander(seed, name, at_ms, knot_ms)


def outside(seed: int, at_ms: TimeArray) -> OutsideAir:
    """The air outside; the same for every way of cutting the times into calls.

    Args:
        seed: the world's seed, 0 to 2**64 - 1.
        at_ms: times [ms since 1970, UTC], in order.
    Returns:
        The air at those times; never wetter than 99.5 %.
    Raises:
        ValueError: a seed outside its range.
    """
    summer = 0.5 + 0.5 * season(at_ms)
    steady_c = mild_c(seed, at_ms)
    for name, knot_ms, spread_c in SPELLS[1:]:
        steady_c = steady_c + spread_c * wander(seed, name, at_ms, knot_ms)
    cloud = np.minimum(np.maximum(0.5 + 0.35 * wander(seed, "outside/cloud", at_ms, 20 * HOUR_MS), 0.05), 1.0)
    warm_at = turn(at_ms / DAY_MS - WARMEST_HOUR_UTC / 24)
    # Clear days are the wide and the dry ones.
    swing_c = (DAY_WINTER_C + (DAY_SUMMER_C - DAY_WINTER_C) * summer) * (1.5 - cloud)
    temperature_c = steady_c + swing_c * warm_at
    dryness_k = DRYNESS_WINTER_K + (DRYNESS_SUMMER_K - DRYNESS_WINTER_K) * summer
    dryness_k = dryness_k * (1.5 - cloud) + DRYNESS_SPREAD_K * wander(seed, "outside/dry", at_ms, 30 * HOUR_MS)
    vapour = np.minimum(saturated_kg_m3(steady_c - dryness_k), MOST_HUMID * saturated_kg_m3(temperature_c))
    pressure = SEA_LEVEL_PA + PRESSURE_SPREAD_PA * wander(seed, "outside/pressure", at_ms, 40 * HOUR_MS)
    return OutsideAir(temperature_c, vapour, pressure)
