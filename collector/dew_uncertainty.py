"""How well a dew point, and a surface's margin above it, are known from what a probe is known to.

Uncertainties go in and come out at one coverage: put in the half-widths of a data sheet or of a check and the
answer is a half-width of the same kind; put in standard deviations and it is a standard deviation.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from collector.limits import within
from collector.moist_air import dew_point_c
from collector.saturation import KELVIN_AT_0_C, OVER_WATER, FloatArray

# Our choice: a thermometer that may be 50 K out, or a hygrometer that may be 100 points out, says nothing.
WORST_TEMPERATURE_U_K = 50.0
WORST_HUMIDITY_U_PCT = 100.0


@dataclass(frozen=True, slots=True)
class DewPointSlopes:
    """How far the dew point moves for one kelvin of air temperature and for one point of humidity."""

    k_per_k: FloatArray
    k_per_pct: FloatArray


def dew_point_slopes(temperature_c: ArrayLike, humidity_pct: ArrayLike) -> DewPointSlopes:
    """Partial derivatives of `collector.moist_air.dew_point_c`.

    Args:
        temperature_c: air temperature [degC], -100 to 200, scalar or array, broadcasts.
        humidity_pct: relative humidity over water [%], 0 < x <= 100, broadcasts.
    Returns:
        Slopes [K/K] and [K per % of humidity]. A NaN stays a NaN.
    Raises:
        ValueError: as `dew_point_c`.
    Source: implicit differentiation of ln p(dew point) = ln p(air) + ln(humidity), with Hyland and Wexler's p.
    """
    dew_c = dew_point_c(temperature_c, humidity_pct)
    at_dew_per_k = OVER_WATER.slope_per_k(dew_c + KELVIN_AT_0_C)
    at_air_per_k = OVER_WATER.slope_per_k(np.asarray(temperature_c, dtype=np.float64) + KELVIN_AT_0_C)
    humidity = np.asarray(humidity_pct, dtype=np.float64)
    return DewPointSlopes(k_per_k=at_air_per_k / at_dew_per_k, k_per_pct=1 / (humidity * at_dew_per_k))


def dew_point_uncertainty_k(
    temperature_c: ArrayLike, humidity_pct: ArrayLike, temperature_u_k: ArrayLike, humidity_u_pct: ArrayLike
) -> FloatArray:
    """Uncertainty of the dew point from those of air temperature and humidity, taken as independent.

    Args:
        temperature_c: air temperature [degC], -100 to 200; all four broadcast.
        humidity_pct: relative humidity over water [%], 0 < x <= 100.
        temperature_u_k: uncertainty of the temperature [K], 0 to 50.
        humidity_u_pct: uncertainty of the humidity [points of %], 0 to 100.
    Returns:
        Uncertainty [K], of the coverage of the two given. First order: in dry air with a poor probe the true
        spread is wider on the cold side. A NaN stays a NaN.
    Raises:
        ValueError: a value outside its range, or air as too dry for `dew_point_c`.
    Source: JCGM 100:2008 (GUM), 5.1.2, law of propagation for uncorrelated inputs.
    """
    slopes = dew_point_slopes(temperature_c, humidity_pct)
    from_temperature = slopes.k_per_k * _temperature_u("temperature_u_k", temperature_u_k)
    return np.hypot(from_temperature, slopes.k_per_pct * _humidity_u(humidity_u_pct))


def margin_uncertainty_k(
    temperature_c: ArrayLike,
    humidity_pct: ArrayLike,
    temperature_u_k: ArrayLike,
    humidity_u_pct: ArrayLike,
    *,
    surface_u_k: ArrayLike | None,
) -> FloatArray:
    """Uncertainty of a dew margin: a surface's temperature less the dew point of the air.

    Args:
        temperature_c: air temperature [degC], -100 to 200; all that are given broadcast.
        humidity_pct: relative humidity over water [%], 0 < x <= 100.
        temperature_u_k: uncertainty of the air's temperature [K], 0 to 50.
        humidity_u_pct: uncertainty of the humidity [points of %], 0 to 100.
        surface_u_k: uncertainty of the surface's temperature [K], 0 to 50, when another element measures it; None
            when the element that measures the air stands for the surface too. Then an error of that element moves
            both by nearly as much, and only the difference of the two is left.
    Returns:
        Uncertainty [K], of the coverage of those given. A NaN stays a NaN.
    Raises:
        ValueError: as `dew_point_uncertainty_k`, or a surface uncertainty outside its range.
    Source: JCGM 100:2008 (GUM), 5.1.2 for two elements; 5.2.2, full correlation, for one.
    """
    if surface_u_k is not None:
        of_dew_point = dew_point_uncertainty_k(temperature_c, humidity_pct, temperature_u_k, humidity_u_pct)
        return np.hypot(of_dew_point, _temperature_u("surface_u_k", surface_u_k))
    slopes = dew_point_slopes(temperature_c, humidity_pct)
    left_of_temperature = (1 - slopes.k_per_k) * _temperature_u("temperature_u_k", temperature_u_k)
    return np.hypot(left_of_temperature, slopes.k_per_pct * _humidity_u(humidity_u_pct))


def _temperature_u(name: str, u_k: ArrayLike) -> FloatArray:
    return within(name, u_k, 0, WORST_TEMPERATURE_U_K, "K")


def _humidity_u(u_pct: ArrayLike) -> FloatArray:
    return within("humidity_u_pct", u_pct, 0, WORST_HUMIDITY_U_PCT, "points")
