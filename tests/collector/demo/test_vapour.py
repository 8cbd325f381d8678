import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI

from collector.demo.vapour import humidity_pct, pressure_pa, saturated_kg_m3
from collector.moist_air import saturation_pressure_pa


@pytest.mark.parametrize("temperature_c", [0.5, 6.0, 12.0, 20.0, 30.0])
def test_agrees_with_the_density_of_saturated_steam(temperature_c):
    # CoolProp (IAPWS-95) has real steam; the ideal gas is some 0.1 to 0.3 % thinner.
    steam = PropsSI("D", "T", temperature_c + 273.15, "Q", 1, "Water")
    assert saturated_kg_m3(np.array([temperature_c]))[0] == pytest.approx(steam, rel=3e-3)


def test_the_straight_lines_keep_to_the_curve():
    temperatures = np.linspace(-40, 60, 100_003)
    curve = saturation_pressure_pa(temperatures)
    assert pressure_pa(saturated_kg_m3(temperatures), temperatures) == pytest.approx(curve, rel=3e-6)


def test_each_value_is_the_same_in_any_company():
    temperatures = np.linspace(-40, 60, 997)
    alone = [saturated_kg_m3(np.array([t]))[0] for t in temperatures]
    assert (saturated_kg_m3(temperatures) == alone).all()


def test_the_ends_are_held():
    ends = saturated_kg_m3(np.array([-45.0, 65.0]))
    assert (saturated_kg_m3(np.array([-90.0, 99.0])) == ends).all()


def test_fog_counts_as_100_percent():
    air = saturated_kg_m3(np.array([12.0]))
    assert humidity_pct(1.2 * air, np.array([12.0]))[0] == 100.0
    assert humidity_pct(0.85 * air, np.array([12.0]))[0] == pytest.approx(85.0)
