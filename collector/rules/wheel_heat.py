"""How a wheel follows the temperature of the air, and how long it sweats when it comes from the cold; pure.

A wheel is taken as one lump: a cylinder twice as wide as high, its underside covered by the board. Heat comes through
its free faces, and the way inward is added as for a plate (Biot number over three). Water that condenses brings its
heat along, which at 12 degC warms a sweating wheel more than twice as fast as quiet air alone.
"""

from dataclasses import dataclass

import numpy as np

from collector.limits import above_zero, within
from collector.moist_air import dew_point_c, saturation_pressure_pa, vapour_pressure_pa
from collector.readings.model import Values

DENSITY_KG_M3 = 1080.0  # of cheese; the value of the worked wheel in reference tables, not measured here
HEAT_CAPACITY_J_KG_K = 2500.0  # Siebel's rule 837 + 3349 w at 50 % water (ASHRAE Refrigeration, chapter 9; from memory)
CONDUCTIVITY_W_M_K = 0.35  # of cheese, 0.3 to 0.4 (from memory)
QUIET_W_M2_K = 4.0  # still air among wheels of the same temperature, so that nothing is gained by radiation
FREE_W_M2_K = 9.0  # alone on a shelf: 4 from the air, 5 from the walls, which are as warm as the air
USUAL_W_M2_K = 6.0  # between the two: our choice
LATENT_J_KG = 2.4727e6  # heat of condensation at 12 degC; it changes by 0.4 % from 8 to 16 degC
# Vapour that reaches the rind for one pascal, per W/(m2 K) of heat from the air: Lewis relation at 12 degC and
# 101325 Pa, 2.698e-8 kg/(m2 s Pa) at 4 W/(m2 K); it changes by less than 1 % from 8 to 16 degC.
VAPOUR_PER_HEAT = 2.698e-8 / 4.0
USUAL_WHEEL_KG = 2.5
LEAST_WHEEL_KG, MOST_WHEEL_KG = 0.01, 200.0
PARTS = 400  # of the way from the wheel's temperature to the dew point: finer changes the hours by less than 0.1 %


@dataclass(frozen=True, slots=True)
class Sweating:
    """What a wheel brought from the cold will do.

    Args:
        dew_point_c: of the air it comes into.
        hours: until its rind is above the dew point; 0 when it is so at once, inf in saturated air.
        hours_least, hours_most: alone on a shelf in the room, and packed among others in still air.
        water_g: what condenses on it meanwhile.
    """

    dew_point_c: float
    hours: float
    hours_least: float
    hours_most: float
    water_g: float


def thermal_lag_h(wheel_kg: float, heat_w_m2_k: float = QUIET_W_M2_K) -> float:
    """Time constant with which a wheel follows the air.

    Args:
        wheel_kg: mass [kg], 0.01 to 200.
        heat_w_m2_k: heat taken from the air through the free faces [W/(m2 K)], 1 to 50.
    Returns:
        Time constant [h]: 6.3 h for 2.5 kg in quiet air; it grows like the cube root of the mass, and faster for big
        wheels.
    Raises:
        ValueError: a value outside its range.
    Source: lumped body with the first root of a plate, Bi / (1 + Bi / 3) (textbook, from memory); constants above.
    """
    kg, heat = _wheel(wheel_kg), float(within("heat_w_m2_k", heat_w_m2_k, 1, 50, "W/(m2 K)"))
    area = _free_area_m2(kg)
    return float(kg * HEAT_CAPACITY_J_KG_K * _way_inward(kg, heat) / (heat * area) / 3600)


def sweating_after_move(
    from_c: float, temperature_c: float, humidity_pct: float, wheel_kg: float = USUAL_WHEEL_KG
) -> Sweating:
    """How long a wheel sweats that was at one temperature and comes into other air.

    Args:
        from_c: temperature of the wheel [degC], -30 to 60.
        temperature_c, humidity_pct: the air it comes into [degC, -30 to 60; %, 0 < x <= 100].
        wheel_kg: mass [kg], 0.01 to 200.
    Returns:
        Hours until the rind is above the dew point, with their span, and the water that condenses.
    Raises:
        ValueError: a value outside its range or a NaN.
    Source: heat balance of the lump, C dT/dt = A (h (T_air - T) + L k (e - p_s(T))), integrated over the
        temperature; the constants above. The rind runs ahead of the lump, so the hours are on the long side.
    """
    start = float(within("from_c", from_c, -30, 60, "degC"))
    air = float(within("temperature_c", temperature_c, -30, 60, "degC"))
    kg, humidity = _wheel(wheel_kg), float(above_zero("humidity_pct", humidity_pct, 100, "%"))
    if np.isnan([start, air, humidity]).any():
        raise ValueError(f"from_c, temperature_c and humidity_pct must be known, got {start}, {air}, {humidity}")
    dew = float(dew_point_c(air, humidity))
    if start >= dew:
        return Sweating(dew, 0.0, 0.0, 0.0, 0.0)
    hours, water = _until_dry(start, air, humidity, kg, USUAL_W_M2_K)
    least, _ = _until_dry(start, air, humidity, kg, FREE_W_M2_K)
    most, _ = _until_dry(start, air, humidity, kg, QUIET_W_M2_K)
    return Sweating(dew, hours, least, most, water)


def _until_dry(start_c: float, air_c: float, humidity_pct: float, kg: float, heat: float) -> tuple[float, float]:
    """Hours from a temperature below the dew point up to it, and grams of water condensed on the way."""
    vapour = float(vapour_pressure_pa(air_c, humidity_pct))
    dew = float(dew_point_c(air_c, humidity_pct))
    edges = np.linspace(start_c, dew, PARTS + 1)
    level: Values = (edges[1:] + edges[:-1]) / 2
    wetting = VAPOUR_PER_HEAT * QUIET_W_M2_K * np.maximum(vapour - saturation_pressure_pa(level), 0.0)
    power = heat * (air_c - level) + LATENT_J_KG * wetting
    lump = kg * HEAT_CAPACITY_J_KG_K * _way_inward(kg, heat) / _free_area_m2(kg)
    seconds = lump * np.diff(edges) / power
    water_g = float(np.sum(wetting * seconds) * _free_area_m2(kg) * 1000)
    return (float(seconds.sum() / 3600) if air_c - dew > 1e-6 else float("inf")), water_g


def _wheel(wheel_kg: float) -> float:
    return float(within("wheel_kg", wheel_kg, LEAST_WHEEL_KG, MOST_WHEEL_KG, "kg"))


def _free_area_m2(kg: float) -> float:
    """Top and side of a cylinder twice as wide as high: three quarters of pi d^2."""
    across = (8 * kg / DENSITY_KG_M3 / np.pi) ** (1 / 3)
    return float(0.75 * np.pi * across**2)


def _way_inward(kg: float, heat: float) -> float:
    """By how much the way inward slows a wheel beyond its surface: 1 + Bi / 3."""
    depth = kg / DENSITY_KG_M3 / _free_area_m2(kg)
    return 1 + heat * depth / CONDUCTIVITY_W_M_K / 3
