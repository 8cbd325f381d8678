"""Moist air: what a temperature and a relative humidity say about the water in the air of a cave.

All functions take numbers or arrays that broadcast, and give an array of the broadcast shape (a numpy float for
numbers alone). A gap is NaN and stays NaN. Humidity is over liquid water at every temperature, also below 0 degC,
because that is what probes report (WMO-No. 8, chapter 4, from memory). The air is taken as an ideal gas: real
moist air holds 0.4 % more vapour at cave conditions (the enhancement factor, which CoolProp applies), and that
cancels in the dew point. Derive from each reading and average afterwards; the other order is wrong by degrees.
"""

import numpy as np
from numpy.typing import ArrayLike

from collector.limits import above_zero, within
from collector.saturation import KELVIN_AT_0_C, OVER_ICE, OVER_WATER, FloatArray

# Our choice: the ice curve ends at -100 degC, the water curve at 200 degC (ASHRAE Fundamentals 2017, chapter 1).
# Below 0 degC the water curve is extrapolated; it lies above that of Murphy and Koop 2005 by 4e-4 at -10 degC,
# 2.5e-3 at -30, 5 % at -60 and 20 % at -100 (computed), so the coldest dew points are an order of magnitude only.
COLDEST_C = -100.0
HOTTEST_C = 200.0
TRIPLE_POINT_C = 0.01
# Just above saturation at 200 degC, 1.555e6 Pa.
MOST_VAPOUR_PA = 1_600_000.0
# The span of the barometers in use (BME280 data sheet, table 3: 300 to 1100 hPa; from memory).
LOWEST_PRESSURE_PA = 30_000.0
HIGHEST_PRESSURE_PA = 110_000.0
STANDARD_PRESSURE_PA = 101_325.0
# Molar mass of water over that of dry air (ASHRAE Fundamentals 2017, chapter 1, equation 20).
WATER_TO_AIR_MASS = 0.621945
# R / M = 8.314462618 / 0.018015268 (IAPWS R6-95), in J/(kg K).
WATER_GAS_CONSTANT = 461.523
# Our choice: no cave is hotter, and up to here vapour at saturation is always thinner than the thinnest air above.
HOTTEST_WET_BULB_AIR_C = 60.0
# Newton's method for the wet bulb starts at the air temperature; the worst case is 60 degC, bone dry, at 30000 Pa:
# after eight steps it misses by 1e-9 K, after nine by nothing (computed against forty).
WET_BULB_STEPS = 9


def saturation_pressure_pa(temperature_c: ArrayLike) -> FloatArray:
    """Pressure of the vapour over liquid water, supercooled below 0 degC.

    Args:
        temperature_c: temperature [degC], -100 to 200.
    Returns:
        Pressure [Pa], within 3e-4 of IAPWS-95 from 0.01 to 40 degC. A NaN stays a NaN.
    Raises:
        ValueError: a temperature outside that range.
    Source: Hyland and Wexler 1983, ASHRAE Fundamentals 2017, chapter 1, equation 6.
    """
    return np.exp(OVER_WATER.ln_pressure(_kelvin(temperature_c)))


def saturation_pressure_ice_pa(temperature_c: ArrayLike) -> FloatArray:
    """Pressure of the vapour over ice.

    Args:
        temperature_c: temperature [degC], -100 to 0.01, the triple point.
    Returns:
        Pressure [Pa], within 3e-4 of IAPWS R14-08 from -20 to 0 degC. A NaN stays a NaN.
    Raises:
        ValueError: a temperature outside that range.
    Source: Hyland and Wexler 1983, ASHRAE Fundamentals 2017, chapter 1, equation 5.
    """
    celsius = within("temperature_c", temperature_c, COLDEST_C, TRIPLE_POINT_C, "degC over ice")
    return np.exp(OVER_ICE.ln_pressure(celsius + KELVIN_AT_0_C))


def vapour_pressure_pa(temperature_c: ArrayLike, humidity_pct: ArrayLike) -> FloatArray:
    """Partial pressure of the water vapour in the air.

    Args:
        temperature_c: air temperature [degC], -100 to 200.
        humidity_pct: relative humidity over water [%], 0 < x <= 100.
    Returns:
        Pressure [Pa]. A NaN stays a NaN.
    Raises:
        ValueError: a value outside its range.
    Source: the definition of relative humidity, WMO-No. 8 (2023), annex 4.B, without the enhancement factor.
    """
    return saturation_pressure_pa(temperature_c) * (_humidity(humidity_pct) / 100)


def vapour_deficit_pa(temperature_c: ArrayLike, humidity_pct: ArrayLike) -> FloatArray:
    """What the vapour pressure lacks to saturation: the pull of the air on free water at its own temperature.

    Args:
        temperature_c: air temperature [degC], -100 to 200.
        humidity_pct: relative humidity over water [%], 0 < x <= 100.
    Returns:
        Pressure [Pa], 0 at 100 %. A NaN stays a NaN.
    Raises:
        ValueError: a value outside its range.
    Source: as `vapour_pressure_pa`.
    """
    return saturation_pressure_pa(temperature_c) * (1 - _humidity(humidity_pct) / 100)


def humidity_pct_at(temperature_c: ArrayLike, vapour_pressure_pa: ArrayLike) -> FloatArray:
    """Relative humidity of air with a known vapour pressure, brought to another temperature.

    Args:
        temperature_c: the temperature it is brought to [degC], -100 to 200.
        vapour_pressure_pa: its vapour pressure [Pa], above 0 and at most 1600000.
    Returns:
        Relative humidity over water [%]; above 100 means that water would condense. A NaN stays a NaN.
    Raises:
        ValueError: a value outside its range.
    Source: as `vapour_pressure_pa`.
    """
    pressure = above_zero("vapour_pressure_pa", vapour_pressure_pa, MOST_VAPOUR_PA, "Pa")
    return 100 * pressure / saturation_pressure_pa(temperature_c)


def dew_point_c(temperature_c: ArrayLike, humidity_pct: ArrayLike) -> FloatArray:
    """Dew point of the air: where it would be saturated over liquid water, also below 0 degC.

    Args:
        temperature_c: air temperature [degC], -100 to 200.
        humidity_pct: relative humidity over water [%], 0 < x <= 100.
    Returns:
        Dew point [degC], the inverse of `saturation_pressure_pa` to 1e-9 K. A NaN stays a NaN.
    Raises:
        ValueError: a value outside its range, or air so dry that its dew point lies below -100 degC.
    Source: inversion of Hyland and Wexler 1983 by Newton's method; within 0.02 K of CoolProp 8.0.0 from 0 to
        40 degC and 10 to 100 % wherever the dew point is at or above 0.01 degC.
    """
    return OVER_WATER.temperature_k(_ln_vapour_pressure(temperature_c, humidity_pct)) - KELVIN_AT_0_C


def frost_point_c(temperature_c: ArrayLike, humidity_pct: ArrayLike) -> FloatArray:
    """Frost point of the air: where its vapour would be saturated over ice.

    Args:
        temperature_c: air temperature [degC], -100 to 200.
        humidity_pct: relative humidity over water [%], 0 < x <= 100.
    Returns:
        Frost point [degC], at or above the dew point. NaN where the vapour pressure is above that of the triple
        point (611.657 Pa): such air drips before it could frost. It may lie above the air temperature: air below
        0 degC that is saturated over water is beyond saturation over ice. A NaN stays a NaN.
    Raises:
        ValueError: as `dew_point_c`.
    Source: inversion of Hyland and Wexler 1983 over ice.
    """
    ln_pressure = _ln_vapour_pressure(temperature_c, humidity_pct)
    frosts = ln_pressure <= OVER_ICE.ln_pressure(np.asarray(TRIPLE_POINT_C + KELVIN_AT_0_C))
    return OVER_ICE.temperature_k(np.where(frosts, ln_pressure, np.nan)) - KELVIN_AT_0_C


def absolute_humidity_g_m3(temperature_c: ArrayLike, humidity_pct: ArrayLike) -> FloatArray:
    """Mass of water vapour in a cubic metre of air.

    Args:
        temperature_c: air temperature [degC], -100 to 200.
        humidity_pct: relative humidity over water [%], 0 < x <= 100.
    Returns:
        Absolute humidity [g/m3], up to 0.5 % below real air (module docstring). A NaN stays a NaN.
    Raises:
        ValueError: a value outside its range.
    Source: the ideal gas law, with the gas constant of water vapour from IAPWS R6-95.
    """
    pressure = vapour_pressure_pa(temperature_c, humidity_pct)
    return 1000 * pressure / (WATER_GAS_CONSTANT * _kelvin(temperature_c))


def humidity_ratio_g_kg(
    temperature_c: ArrayLike, humidity_pct: ArrayLike, pressure_pa: ArrayLike = STANDARD_PRESSURE_PA
) -> FloatArray:
    """Mass of water vapour per mass of dry air.

    Args:
        temperature_c: air temperature [degC], -100 to 200.
        humidity_pct: relative humidity over water [%], 0 < x <= 100.
        pressure_pa: air pressure at the place, not reduced to sea level [Pa], 30000 to 110000.
    Returns:
        Humidity ratio [g/kg], up to 0.5 % below real air (module docstring). A NaN stays a NaN.
    Raises:
        ValueError: a value outside its range, or a vapour pressure that reaches the air pressure.
    Source: ASHRAE Fundamentals 2017, chapter 1, equation 20.
    """
    vapour = vapour_pressure_pa(temperature_c, humidity_pct)
    return 1000 * _mixing_ratio(vapour, _air_pressure(pressure_pa, vapour))


def wet_bulb_c(
    temperature_c: ArrayLike, humidity_pct: ArrayLike, pressure_pa: ArrayLike = STANDARD_PRESSURE_PA
) -> FloatArray:
    """Wet-bulb temperature: what a freely wet surface, such as a fresh rind, cools to in moving air.

    Args:
        temperature_c: air temperature [degC], -100 to 60.
        humidity_pct: relative humidity over water [%], 0 < x <= 100.
        pressure_pa: air pressure at the place, not reduced to sea level [Pa], 30000 to 110000.
    Returns:
        Wet bulb [degC], over liquid water also below 0 degC. A frozen wick would read up to 0.7 K lower around
        0 degC; the usual libraries take that branch. A NaN stays a NaN.
    Raises:
        ValueError: a value outside its range.
    Source: ASHRAE Fundamentals 2017, chapter 1, equation 33 solved for the wet bulb by Newton's method.
    """
    air_c = within("temperature_c", temperature_c, COLDEST_C, HOTTEST_WET_BULB_AIR_C, "degC")
    vapour = vapour_pressure_pa(air_c, humidity_pct)
    pressure = _air_pressure(pressure_pa, vapour)
    ratio = _mixing_ratio(vapour, pressure)
    wet_c = air_c
    for _ in range(WET_BULB_STEPS):
        wet_c = wet_c - _wet_bulb_step(air_c, ratio, wet_c, pressure)
    return wet_c


def _wet_bulb_step(air_c: FloatArray, ratio: FloatArray, wet_c: FloatArray, pressure: FloatArray) -> FloatArray:
    # Equation 33 times its denominator. The excess is convex in the wet bulb, so that Newton's method comes down
    # from the air temperature without stepping past the root.
    kelvin = wet_c + KELVIN_AT_0_C
    wet_ratio = _mixing_ratio(np.exp(OVER_WATER.ln_pressure(kelvin)), pressure)
    evaporation = 2501 - 2.326 * wet_c
    excess = wet_ratio * evaporation - 1.006 * (air_c - wet_c) - ratio * (2501 + 1.86 * air_c - 4.186 * wet_c)
    wet_ratio_slope = OVER_WATER.slope_per_k(kelvin) * wet_ratio * (1 + wet_ratio / WATER_TO_AIR_MASS)
    return excess / (wet_ratio_slope * evaporation - 2.326 * wet_ratio + 1.006 + 4.186 * ratio)


def _kelvin(temperature_c: ArrayLike) -> FloatArray:
    return within("temperature_c", temperature_c, COLDEST_C, HOTTEST_C, "degC") + KELVIN_AT_0_C


def _humidity(humidity_pct: ArrayLike) -> FloatArray:
    return above_zero("humidity_pct", humidity_pct, 100, "%")


def _ln_vapour_pressure(temperature_c: ArrayLike, humidity_pct: ArrayLike) -> FloatArray:
    humidity = _humidity(humidity_pct)
    ln_pressure = OVER_WATER.ln_pressure(_kelvin(temperature_c)) + np.log(humidity / 100)
    # The last bit of the sum must not turn saturated air at the coldest temperature into air too dry.
    too_dry = ln_pressure < OVER_WATER.ln_pressure(np.asarray(COLDEST_C + KELVIN_AT_0_C)) - 1e-12
    if np.any(too_dry):
        driest = np.broadcast_to(humidity, too_dry.shape)[too_dry].flat[0]
        raise ValueError(f"humidity_pct must leave a dew point of at least {COLDEST_C:g} degC, got {driest:.10g}")
    return ln_pressure


def _air_pressure(pressure_pa: ArrayLike, vapour: FloatArray) -> FloatArray:
    pressure = within("pressure_pa", pressure_pa, LOWEST_PRESSURE_PA, HIGHEST_PRESSURE_PA, "Pa")
    steam = vapour >= pressure
    if np.any(steam):
        limit, got = (np.broadcast_to(side, steam.shape)[steam].flat[0] for side in (vapour, pressure))
        raise ValueError(f"pressure_pa must be above the vapour pressure of {limit:g} Pa, got {got:.10g}")
    return pressure


def _mixing_ratio(vapour: FloatArray, pressure: FloatArray) -> FloatArray:
    return WATER_TO_AIR_MASS * vapour / (pressure - vapour)
