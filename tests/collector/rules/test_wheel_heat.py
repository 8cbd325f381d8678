import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from collector.moist_air import dew_point_c, saturation_pressure_pa, vapour_pressure_pa
from collector.rules.wheel_heat import (
    CONDUCTIVITY_W_M_K,
    DENSITY_KG_M3,
    HEAT_CAPACITY_J_KG_K,
    LATENT_J_KG,
    VAPOUR_PER_HEAT,
    sweating_after_move,
    thermal_lag_h,
)


def test_lag_agrees_with_the_exact_root_of_a_plate() -> None:
    # Heat in a plate, any textbook: the slowest part dies away with zeta tan zeta = Bi. The plate is the wheel's
    # volume over its free area deep: a cylinder of 2.5 kg twice as wide as high, without its underside.
    across = (8 * 2.5 / DENSITY_KG_M3 / math.pi) ** (1 / 3)
    depth = 2.5 / DENSITY_KG_M3 / (0.75 * math.pi * across**2)
    biot = 4.0 * depth / CONDUCTIVITY_W_M_K
    low, high = 1e-9, math.pi / 2 - 1e-9
    for _ in range(80):
        middle = (low + high) / 2
        low, high = (middle, high) if middle * math.tan(middle) < biot else (low, middle)
    exact_h = DENSITY_KG_M3 * HEAT_CAPACITY_J_KG_K * depth**2 / (CONDUCTIVITY_W_M_K * low**2) / 3600
    assert thermal_lag_h(2.5) == pytest.approx(exact_h, rel=0.01)
    assert thermal_lag_h(2.5) == pytest.approx(6.3, abs=0.1)


def test_vapour_transfer_is_that_of_the_lewis_relation() -> None:
    # Lewis relation k = h / (rho c_p Le^(2/3) R_v T) with the air properties at 12 degC, 101325 Pa: rho 1.2379 kg/m3,
    # Le^(2/3) 0.9046, c_p 1006 J/(kg K), R_v 461.523 J/(kg K) give 1.349e-8 kg/(m2 s Pa) at 2 W/(m2 K).
    assert pytest.approx(1.349e-8, rel=1e-3) == VAPOUR_PER_HEAT * 2
    assert pytest.approx(1 / (1.2379 * 1006 * 0.9046 * 461.523 * 285.15), rel=1e-3) == VAPOUR_PER_HEAT


def test_time_to_dry_agrees_with_small_steps_of_time() -> None:
    # The same heat balance walked second by second (Euler), from 4 degC into 12 degC and 88 %, alone on a shelf.
    kg, heat = 2.5, 9.0
    across = (8 * kg / DENSITY_KG_M3 / math.pi) ** (1 / 3)
    area = 0.75 * math.pi * across**2
    inward = 1 + heat * (kg / DENSITY_KG_M3 / area) / CONDUCTIVITY_W_M_K / 3
    vapour, dew = float(vapour_pressure_pa(12, 88)), float(dew_point_c(12, 88))
    t, seconds = 4.0, 0
    while t < dew:
        wetting = VAPOUR_PER_HEAT * 4 * max(0.0, vapour - float(saturation_pressure_pa(t)))
        t += 10 * (heat * (12 - t) + LATENT_J_KG * wetting) * area / (kg * HEAT_CAPACITY_J_KG_K * inward)
        seconds += 10
    assert sweating_after_move(4, 12, 88, kg).hours_least == pytest.approx(seconds / 3600, rel=0.005)


def test_a_wheel_from_the_fridge_sweats_for_hours() -> None:
    # Plausibility, common practice, no source: a wheel out of a cold fridge is wet for an afternoon, not for a week.
    sweating = sweating_after_move(4, 12, 88)
    assert sweating.dew_point_c == pytest.approx(10.08, abs=0.01)
    assert 2 < sweating.hours_least < sweating.hours < sweating.hours_most < 12
    assert 1 < sweating.water_g < 20


@pytest.mark.parametrize(("from_c", "t", "h"), [(12, 12, 88), (14, 12, 99), (10.1, 12, 88), (20, 5, 80)])
def test_a_wheel_above_the_dew_point_does_not_sweat(from_c: float, t: float, h: float) -> None:
    sweating = sweating_after_move(from_c, t, h)
    assert (sweating.hours, sweating.hours_least, sweating.hours_most, sweating.water_g) == (0, 0, 0, 0)


def test_in_saturated_air_it_never_dries() -> None:
    assert sweating_after_move(4, 12, 100).hours == math.inf


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: thermal_lag_h(0), "wheel_kg must be from 0.01 to 200 kg, got 0"),
        (lambda: thermal_lag_h(2.5, 0), r"heat_w_m2_k must be from 1 to 50 W/\(m2 K\), got 0"),
        (lambda: sweating_after_move(4, 12, 0), "humidity_pct must be above 0 and at most 100 %, got 0"),
        (lambda: sweating_after_move(-40, 12, 80), "from_c must be from -30 to 60 degC, got -40"),
        (lambda: sweating_after_move(float("nan"), 12, 80), "must be known, got nan"),
    ],
)
def test_refuses_what_no_wheel_is(call: object, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        call()  # type: ignore[operator]


@given(st.floats(-5, 15), st.floats(5, 25), st.floats(40, 99.5), st.floats(0.2, 30))
def test_damper_air_and_a_heavier_wheel_never_dry_sooner(from_c: float, t: float, h: float, kg: float) -> None:
    one = sweating_after_move(from_c, t, h, kg)
    assert sweating_after_move(from_c, t, min(100, h + 0.4), kg).hours >= one.hours - 1e-9
    assert sweating_after_move(from_c, t, h, kg * 1.5).hours >= one.hours - 1e-9
    assert one.hours_least <= one.hours <= one.hours_most
    assert one.water_g >= 0
    assert np.isfinite(one.water_g)


@given(st.floats(0.01, 199), st.floats(1, 40))
def test_lag_grows_with_the_wheel_and_falls_with_the_draught(kg: float, heat: float) -> None:
    assert thermal_lag_h(min(200, kg * 1.01), heat) > thermal_lag_h(kg, heat) > thermal_lag_h(kg, heat + 1)
