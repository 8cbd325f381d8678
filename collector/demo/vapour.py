"""Water vapour of the demo's rooms as density, kg in a cubic metre, because that is what a balance conserves.

Saturation comes from a table of `moist_air`, read by straight lines between its points: several times quicker in the
step loop than the exponential, and bit for bit the same whatever the shape of the arrays.
"""

import numpy as np

from collector.demo.noise import FloatArray
from collector.moist_air import WATER_GAS_CONSTANT, saturation_pressure_pa
from collector.saturation import KELVIN_AT_0_C

COLDEST_C = -45.0
HOTTEST_C = 65.0
# With 20 points a kelvin the straight line lies at most 2e-6 of the value above the curve.
POINTS_PER_K = 20

_TABLE_C = COLDEST_C + np.arange(round((HOTTEST_C - COLDEST_C) * POINTS_PER_K) + 1) / POINTS_PER_K
_TABLE = saturation_pressure_pa(_TABLE_C) / (WATER_GAS_CONSTANT * (_TABLE_C + KELVIN_AT_0_C))
_RISE = np.append(np.diff(_TABLE), 0.0)


def saturated_kg_m3(temperature_c: FloatArray) -> FloatArray:
    """Density of vapour over liquid water (supercooled below 0 degC).

    Args:
        temperature_c: temperature [degC], -45 to 65; the ends are held beyond.
    Returns:
        Density [kg/m3], the same shape, within 3e-6 of `moist_air`.
    Source: `collector.moist_air.saturation_pressure_pa` and the ideal gas.
    """
    place = np.minimum(np.maximum((temperature_c - COLDEST_C) * POINTS_PER_K, 0.0), _TABLE.size - 1.0)
    point = place.astype(np.int64)
    return _TABLE[point] + _RISE[point] * (place - point)


def pressure_pa(vapour_kg_m3: FloatArray, temperature_c: FloatArray) -> FloatArray:
    """Partial pressure of vapour of a known density and temperature: the ideal gas.

    Args:
        vapour_kg_m3: density of the vapour [kg/m3].
        temperature_c: its temperature [degC].
    Returns:
        Pressure [Pa].
    """
    return vapour_kg_m3 * (WATER_GAS_CONSTANT * (temperature_c + KELVIN_AT_0_C))


def humidity_pct(vapour_kg_m3: FloatArray, temperature_c: FloatArray) -> FloatArray:
    """Relative humidity over water, never above 100: what is more hangs in the air as fog for less than a step.

    Args:
        vapour_kg_m3: density of the vapour [kg/m3].
        temperature_c: air temperature [degC].
    Returns:
        Relative humidity [%], 0 to 100.
    """
    return np.minimum(100 * vapour_kg_m3 / saturated_kg_m3(temperature_c), 100.0)
