from collections.abc import Callable

import numpy as np
import pytest

from collector.moist_air import (
    absolute_humidity_g_m3,
    dew_point_c,
    frost_point_c,
    humidity_ratio_g_kg,
    saturation_pressure_ice_pa,
    saturation_pressure_pa,
    vapour_deficit_pa,
    vapour_pressure_pa,
    wet_bulb_c,
)
from tests.references.published import table

OVER_WATER = table("saturation_over_water")
OVER_ICE = table("saturation_over_ice")
CAVE = table("cave_air")
MOUNTAIN = table("mountain_cave_air")
MOUNTAIN_PA = 84555.93
FREEZING = table("below_freezing")
TRIPLE_POINT_C = 0.01


# ASHRAE Fundamentals 2017, chapter 1, table 3, as copied in PsychroLib's tests; ASHRAE claims 300 ppm.
@pytest.mark.parametrize(("t", "expected"), [(5, 872.6), (25, 3169.7), (50, 12351.3), (100, 101418.0), (150, 476101.4)])
def test_saturation_over_water_agrees_with_the_handbook(t: float, expected: float) -> None:
    assert saturation_pressure_pa(t) == pytest.approx(expected, rel=3e-4)


# The same table over ice; at -60 degC it prints three digits only, half a unit of the last is 0.005 Pa.
@pytest.mark.parametrize(("t", "expected", "tolerance"), [(-60, 1.08, 5e-3), (-20, 103.24, 0.031), (-5, 401.74, 0.12)])
def test_saturation_over_ice_agrees_with_the_handbook(t: float, expected: float, tolerance: float) -> None:
    assert saturation_pressure_ice_pa(t) == pytest.approx(expected, abs=tolerance)


# 1e-7 is the rounding of the table's own digits; 3e-4 the largest spread to IAPWS-95 in 0.01..40 degC, rounded up.
@pytest.mark.parametrize(
    ("column", "tolerance"),
    [("hyland_wexler_pa", 1e-7), ("iapws95_pa", 3e-4), ("iapws_if97_pa", 3e-4), ("sonntag_pa", 3e-4)],
)
def test_saturation_over_water_agrees_with_each_formulation(column: str, tolerance: float) -> None:
    known = ~np.isnan(OVER_WATER[column])
    ours = saturation_pressure_pa(OVER_WATER["temperature_c"][known])
    assert known.sum() >= 18
    np.testing.assert_allclose(ours, OVER_WATER[column][known], rtol=tolerance)


# 5e-6 is the rounding of the table's own digits; 3e-4 the largest spread between formulations in -20..0 degC.
@pytest.mark.parametrize(
    ("column", "tolerance"),
    [("hyland_wexler_pa", 5e-6), ("iapws_r14_pa", 3e-4), ("sonntag_pa", 3e-4), ("murphy_koop_pa", 3e-4)],
)
def test_saturation_over_ice_agrees_with_each_formulation(column: str, tolerance: float) -> None:
    ours = saturation_pressure_ice_pa(OVER_ICE["temperature_c"])
    np.testing.assert_allclose(ours, OVER_ICE[column], rtol=tolerance)


def test_below_freezing_the_pressure_over_water_is_that_of_supercooled_water() -> None:
    ours = saturation_pressure_pa(OVER_ICE["temperature_c"])
    np.testing.assert_allclose(ours, OVER_ICE["supercooled_water_pa"], rtol=5e-6)


# Each tolerance is half a unit of the table's last digit where the formula is the same, and the largest spread
# between independent formulations, rounded up, where it is another: CoolProp counts the enhancement factor.
@pytest.mark.parametrize(
    ("function", "column", "tolerance", "relative"),
    [
        (vapour_pressure_pa, "vapour_pressure_pa", 5.1e-3, 0),
        (vapour_deficit_pa, "deficit_pa", 5.1e-3, 0),
        (dew_point_c, "dew_point_c", 5.1e-4, 0),
        (dew_point_c, "dew_point_coolprop_c", 5e-3, 0),
        (absolute_humidity_g_m3, "absolute_g_m3", 5.1e-5, 0),
        (absolute_humidity_g_m3, "absolute_coolprop_g_m3", 0, 5e-3),
        (humidity_ratio_g_kg, "ratio_psychrolib_g_kg", 5.1e-5, 0),
        (humidity_ratio_g_kg, "ratio_coolprop_g_kg", 0, 5e-3),
        (wet_bulb_c, "wet_bulb_psychrolib_c", 1.6e-3, 0),  # PsychroLib stops its search at 0.001 K
        (wet_bulb_c, "wet_bulb_coolprop_c", 1e-2, 0),
    ],
)
def test_cave_air_agrees_with_the_reference_grid(
    function: Callable[..., np.ndarray], column: str, tolerance: float, relative: float
) -> None:
    ours = function(CAVE["temperature_c"], CAVE["humidity_pct"])
    np.testing.assert_allclose(ours, CAVE[column], atol=tolerance, rtol=relative)


@pytest.mark.parametrize(
    ("function", "column", "tolerance", "relative"),
    [
        (humidity_ratio_g_kg, "ratio_psychrolib_g_kg", 5.1e-5, 0),
        (humidity_ratio_g_kg, "ratio_coolprop_g_kg", 0, 5e-3),
        (wet_bulb_c, "wet_bulb_psychrolib_c", 1.6e-3, 0),
        (wet_bulb_c, "wet_bulb_coolprop_c", 1e-2, 0),
    ],
)
def test_air_of_a_mountain_cave_agrees_with_the_reference_grid(
    function: Callable[..., np.ndarray], column: str, tolerance: float, relative: float
) -> None:
    ours = function(MOUNTAIN["temperature_c"], MOUNTAIN["humidity_pct"], MOUNTAIN_PA)
    np.testing.assert_allclose(ours, MOUNTAIN[column], atol=tolerance, rtol=relative)


@pytest.mark.parametrize(
    ("function", "column", "tolerance"),
    [
        (vapour_pressure_pa, "vapour_pressure_pa", 5.1e-3),
        (dew_point_c, "dew_point_c", 5.1e-4),
        (frost_point_c, "frost_point_c", 5.1e-4),
    ],
)
def test_dew_and_frost_point_are_told_apart_below_freezing(
    function: Callable[..., np.ndarray], column: str, tolerance: float
) -> None:
    ours = function(FREEZING["temperature_c"], FREEZING["humidity_pct"])
    np.testing.assert_allclose(ours, FREEZING[column], atol=tolerance, rtol=0)


# CoolProp takes humidity over water above 0 degC and gives the frost point: the largest spread is 0.002 K.
def test_the_frost_point_of_air_above_freezing_agrees_with_coolprop() -> None:
    above = FREEZING["temperature_c"] > TRIPLE_POINT_C
    ours = frost_point_c(FREEZING["temperature_c"][above], FREEZING["humidity_pct"][above])
    assert above.sum() == 7
    np.testing.assert_allclose(ours, FREEZING["coolprop_c"][above], atol=5e-3)


# ASHRAE Fundamentals 2017, chapter 1, table 2, at 101325 Pa; it counts the enhancement factor, we do not.
@pytest.mark.parametrize(("t", "expected"), [(5, 5.425), (25, 20.173)])
def test_saturated_humidity_ratio_agrees_with_the_handbook(t: float, expected: float) -> None:
    assert humidity_ratio_g_kg(t, 100) == pytest.approx(expected, rel=5e-3)


# The same table at -5 degC, where it is over ice.
def test_humidity_ratio_over_ice_agrees_with_the_handbook() -> None:
    over_water_pct = 100 * saturation_pressure_ice_pa(-5) / saturation_pressure_pa(-5)
    assert humidity_ratio_g_kg(-5, over_water_pct) == pytest.approx(2.4863, rel=5e-3)


# ASHRAE Fundamentals 2017, chapter 1, example 1, read from the chart: 40 degC with a wet bulb of 20 degC at 101325 Pa
# has 6.5 g/kg, a dew point of 7 degC and 14 %. Both outputs move through the width of the rounded humidity.
def test_the_handbook_example_lies_within_its_rounding() -> None:
    assert wet_bulb_c(40, 13.5) < 20 < wet_bulb_c(40, 14.5)
    assert humidity_ratio_g_kg(40, 13.5) < 6.5 < humidity_ratio_g_kg(40, 14.5)
    assert dew_point_c(40, 14) == pytest.approx(7, abs=0.5)


# The same table of worst cases stands in dew_point_uncertainty.csv: both errors one way, 0.2 K and 2 points.
def test_the_worst_case_of_a_probe_moves_the_dew_point_as_tabled() -> None:
    known = table("dew_point_uncertainty")
    t, rh = known["temperature_c"], known["humidity_pct"]
    np.testing.assert_allclose(dew_point_c(t - 0.2, rh - 2) - dew_point_c(t, rh), known["coldest_k"], atol=1e-3)
    np.testing.assert_allclose(dew_point_c(t + 0.2, rh + 2) - dew_point_c(t, rh), known["warmest_k"], atol=1e-3)


def test_no_frost_point_is_given_for_air_that_drips_first() -> None:
    assert np.isnan(frost_point_c(12, 85))
    assert np.isnan(frost_point_c(0.02, 100))
    # 1e-3 K is what the two curves differ by this close to the triple point, where they meet.
    assert frost_point_c(0.005, 100) == pytest.approx(0.005, abs=1e-3)
