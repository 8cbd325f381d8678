"""Moist air against CoolProp, PsychroLib and iapws, live: whatever versions are installed must still agree.

The tolerances are the largest differences seen with CoolProp 8.0.0, PsychroLib 2.5.0 and iapws 1.5.5, rounded up.
Dew points are compared from the triple point up only. Below it both libraries give the frost point, and below
0 degC of air they take humidity over ice, where probes report it over water: there our frost point is compared,
with the humidity of the same air over ice. MetPy is no judge: its dew point of saturated air misses by 0.1 K at
40 degC, because it inverts another formula than it computes with.
"""

from types import ModuleType

import numpy as np
import pytest
from numpy.typing import NDArray

from collector.moist_air import (
    STANDARD_PRESSURE_PA,
    absolute_humidity_g_m3,
    dew_point_c,
    frost_point_c,
    humidity_ratio_g_kg,
    saturation_pressure_ice_pa,
    saturation_pressure_pa,
    vapour_pressure_pa,
    wet_bulb_c,
)

Values = NDArray[np.float64]
TRIPLE_POINT_C = 0.01
MOUNTAIN_PA = 84555.93  # the standard atmosphere at 1500 m


def grid(temperatures_c: Values, humidities_pct: Values) -> tuple[Values, Values]:
    t, rh = np.meshgrid(temperatures_c, humidities_pct)
    return t.ravel(), rh.ravel()


CAVE = grid(np.array([5.0, 8, 10, 12, 13, 15, 20]), np.array([70.0, 75, 80, 85, 90, 95, 98]))
WIDE = grid(np.linspace(0.01, 40, 41), np.linspace(10, 100, 31))
either_pressure = pytest.mark.parametrize("pressure_pa", [STANDARD_PRESSURE_PA, MOUNTAIN_PA])


def by_coolprop(
    coolprop: ModuleType, quantity: str, t: Values, rh: Values, pressure_pa: float = STANDARD_PRESSURE_PA
) -> Values:
    pressures = np.full_like(t, pressure_pa)
    return np.asarray(coolprop.HAPropsSI(quantity, "T", t + 273.15, "P", pressures, "R", rh / 100))


@pytest.mark.parametrize(("air", "tolerance"), [(CAVE, 5e-3), (WIDE, 0.02)], ids=["cave", "wide"])
def test_dew_point_agrees_with_coolprop(coolprop: ModuleType, air: tuple[Values, Values], tolerance: float) -> None:
    ours, theirs = dew_point_c(*air), by_coolprop(coolprop, "D", *air) - 273.15
    liquid = ours >= TRIPLE_POINT_C
    assert liquid.sum() >= 48
    np.testing.assert_allclose(ours[liquid], theirs[liquid], rtol=0, atol=tolerance)


def test_frost_point_above_freezing_air_agrees_with_coolprop(coolprop: ModuleType) -> None:
    ours, theirs = frost_point_c(*WIDE), by_coolprop(coolprop, "D", *WIDE) - 273.15
    frosts = ~np.isnan(ours)
    assert frosts.sum() > 300
    np.testing.assert_allclose(ours[frosts], theirs[frosts], rtol=0, atol=0.01)


# CoolProp counts the enhancement factor, up to 0.5 % at 101325 Pa; the ideal gas leaves it out.
@pytest.mark.parametrize(("air", "tolerance"), [(CAVE, 5e-3), (WIDE, 6e-3)], ids=["cave", "wide"])
@either_pressure
def test_vapour_content_agrees_with_coolprop(
    coolprop: ModuleType, air: tuple[Values, Values], tolerance: float, pressure_pa: float
) -> None:
    ratio = by_coolprop(coolprop, "W", *air, pressure_pa)
    absolute = ratio / by_coolprop(coolprop, "Vda", *air, pressure_pa)
    partial = by_coolprop(coolprop, "P_w", *air, pressure_pa)
    np.testing.assert_allclose(humidity_ratio_g_kg(*air, pressure_pa), 1000 * ratio, rtol=tolerance)
    np.testing.assert_allclose(absolute_humidity_g_m3(*air), 1000 * absolute, rtol=tolerance)
    np.testing.assert_allclose(vapour_pressure_pa(*air), partial, rtol=tolerance)


# Below a wet bulb of 0.7 degC a wet and a frozen wick both satisfy the equation; the libraries take the frozen one.
@pytest.mark.parametrize(("air", "tolerance"), [(CAVE, 0.01), (WIDE, 0.03)], ids=["cave", "wide"])
@either_pressure
def test_wet_bulb_agrees_with_coolprop(
    coolprop: ModuleType, air: tuple[Values, Values], tolerance: float, pressure_pa: float
) -> None:
    ours, theirs = wet_bulb_c(*air, pressure_pa), by_coolprop(coolprop, "B", *air, pressure_pa) - 273.15
    wet = ours > 0.7
    assert wet.sum() >= 49
    np.testing.assert_allclose(ours[wet], theirs[wet], rtol=0, atol=tolerance)


def test_saturation_over_water_agrees_with_iapws_95(coolprop: ModuleType) -> None:
    t = np.linspace(0.01, 40, 161)
    theirs = [coolprop.PropsSI("P", "T", kelvin, "Q", 0, "Water") for kelvin in t + 273.15]
    np.testing.assert_allclose(saturation_pressure_pa(t), theirs, rtol=3e-4)


def test_dew_and_frost_point_agree_with_psychrolib(psychrolib: ModuleType) -> None:
    t, rh = WIDE
    theirs = np.array([psychrolib.GetTDewPointFromRelHum(*one) for one in zip(t, rh / 100, strict=True)])
    ours, frost = dew_point_c(t, rh), frost_point_c(t, rh)
    liquid, frosts = ours >= TRIPLE_POINT_C, ~np.isnan(frost)
    assert liquid.sum() > 800
    assert frosts.sum() > 300
    np.testing.assert_allclose(ours[liquid], theirs[liquid], rtol=0, atol=1e-6)
    np.testing.assert_allclose(frost[frosts], theirs[frosts], rtol=0, atol=1e-6)


def test_frost_point_below_freezing_agrees_with_psychrolib_given_humidity_over_ice(
    psychrolib: ModuleType,
) -> None:
    t, over_water_pct = grid(np.linspace(-30, 0, 31), np.array([40.0, 60, 80, 95]))
    over_ice = vapour_pressure_pa(t, over_water_pct) / saturation_pressure_ice_pa(t)
    t, over_water_pct, over_ice = (each[over_ice <= 1] for each in (t, over_water_pct, over_ice))
    theirs = [psychrolib.GetTDewPointFromRelHum(*one) for one in zip(t, over_ice, strict=True)]
    np.testing.assert_allclose(frost_point_c(t, over_water_pct), theirs, rtol=0, atol=1e-6)


# PsychroLib sums the same equations; only the search for the wet bulb stops early, at 0.001 K.
@either_pressure
def test_humidity_ratio_and_wet_bulb_agree_with_psychrolib(psychrolib: ModuleType, pressure_pa: float) -> None:
    # Without the triple point itself, where PsychroLib changes to its ice formula.
    t, rh = (each[WIDE[0] >= 0.5] for each in WIDE)
    air = list(zip(t, rh / 100, strict=True))
    ratio = np.array([psychrolib.GetHumRatioFromRelHum(*one, pressure_pa) for one in air])
    np.testing.assert_allclose(humidity_ratio_g_kg(t, rh, pressure_pa), 1000 * ratio, rtol=1e-9)
    wet = wet_bulb_c(t, rh, pressure_pa) > 0.7
    theirs = np.array([psychrolib.GetTWetBulbFromRelHum(*one, pressure_pa) for one in air])
    np.testing.assert_allclose(wet_bulb_c(t, rh, pressure_pa)[wet], theirs[wet], rtol=0, atol=1e-3)


# IAPWS R7-97(2012), table 35, from memory: the judge is checked first, then we by it.
def test_saturation_over_water_agrees_with_iapws_if97(iapws97: ModuleType) -> None:
    for kelvin, mpa in [(300, 0.353658941e-2), (500, 0.263889776e1), (600, 0.123443146e2)]:
        assert iapws97._PSat_T(kelvin) == pytest.approx(mpa, rel=1e-8)
    t = np.linspace(0.01, 40, 161)
    theirs = [1e6 * iapws97._PSat_T(kelvin) for kelvin in t + 273.15]
    np.testing.assert_allclose(saturation_pressure_pa(t), theirs, rtol=3e-4)


# IAPWS R14-08(2011), table 3, from memory.
def test_saturation_over_ice_agrees_with_iapws_r14(iapws_ice: ModuleType) -> None:
    assert iapws_ice._Sublimation_Pressure(230) == pytest.approx(8.94735e-6, rel=1e-6)
    t = np.linspace(-20, 0, 81)
    theirs = [1e6 * iapws_ice._Sublimation_Pressure(kelvin) for kelvin in t + 273.15]
    np.testing.assert_allclose(saturation_pressure_ice_pa(t), theirs, rtol=3e-4)


# IAPWS R6-95(2018), table 8, from memory: 275 K and 450 K. ASHRAE claims 300 ppm for its equation up to 200 degC.
@pytest.mark.parametrize(("kelvin", "expected_pa"), [(275, 698.451167), (450, 932203.564)])
def test_saturation_over_water_meets_the_verification_points_of_iapws_95(kelvin: float, expected_pa: float) -> None:
    assert saturation_pressure_pa(kelvin - 273.15) == pytest.approx(expected_pa, rel=3e-4)
