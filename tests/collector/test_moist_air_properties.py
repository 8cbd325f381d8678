from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from collector.moist_air import (
    absolute_humidity_g_m3,
    dew_point_c,
    frost_point_c,
    humidity_pct_at,
    humidity_ratio_g_kg,
    saturation_pressure_ice_pa,
    saturation_pressure_pa,
    vapour_deficit_pa,
    vapour_pressure_pa,
    wet_bulb_c,
)

OF_AIR = [
    vapour_pressure_pa,
    vapour_deficit_pa,
    dew_point_c,
    frost_point_c,
    absolute_humidity_g_m3,
    humidity_ratio_g_kg,
    wet_bulb_c,
]
every_function_of_air = pytest.mark.parametrize("of_air", OF_AIR, ids=lambda function: function.__name__)
Function = Callable[..., np.ndarray]

temperatures = st.floats(-40, 60)
humidities = st.floats(1, 100)
steps = st.floats(1e-3, 20)


@given(temperatures, humidities)
def test_the_dew_point_is_never_above_the_air(t: float, rh: float) -> None:
    assert dew_point_c(t, rh) <= t + 1e-9


@given(temperatures, humidities, steps)
def test_warmer_air_of_the_same_humidity_has_a_higher_dew_point(t: float, rh: float, step: float) -> None:
    assert dew_point_c(t + step, rh) > dew_point_c(t, rh)


@given(temperatures, st.floats(1, 80), steps)
def test_damper_air_has_a_higher_dew_point(t: float, rh: float, step: float) -> None:
    assert dew_point_c(t, rh + step) > dew_point_c(t, rh)


@given(temperatures, humidities)
def test_the_dew_point_gives_the_humidity_back(t: float, rh: float) -> None:
    assert humidity_pct_at(t, saturation_pressure_pa(dew_point_c(t, rh))) == pytest.approx(rh, rel=1e-9)


@given(temperatures, humidities)
def test_the_frost_point_holds_the_same_vapour_and_is_not_below_the_dew_point(t: float, rh: float) -> None:
    frost, pressure = frost_point_c(t, rh), vapour_pressure_pa(t, rh)
    if np.isnan(frost):
        assert pressure > 611.65
    else:
        assert saturation_pressure_ice_pa(frost) == pytest.approx(pressure, rel=1e-9)
        # Where the two curves meet, at the triple point, they cross with a miss of 1e-6 K.
        assert frost >= dew_point_c(t, rh) - 1e-5


@given(st.floats(-100, 200))
def test_saturated_air_is_at_its_dew_point(t: float) -> None:
    assert dew_point_c(t, 100) == pytest.approx(t, abs=1e-9)


@given(temperatures, humidities, st.floats(30_000, 110_000))
def test_the_wet_bulb_solves_the_psychrometer_equation(t: float, rh: float, pressure: float) -> None:
    """ASHRAE Fundamentals 2017, chapter 1, equation 33, put together from our own humidity ratios."""
    wet = wet_bulb_c(t, rh, pressure)
    saturated = humidity_ratio_g_kg(wet, 100, pressure) / 1000
    ratio = ((2501 - 2.326 * wet) * saturated - 1.006 * (t - wet)) / (2501 + 1.86 * t - 4.186 * wet)
    assert ratio == pytest.approx(humidity_ratio_g_kg(t, rh, pressure) / 1000, abs=1e-12, rel=1e-9)
    assert dew_point_c(t, rh) - 1e-9 <= wet <= t + 1e-9


@given(temperatures, humidities, temperatures)
def test_air_brought_to_another_temperature_and_back_is_the_same(t: float, rh: float, other: float) -> None:
    there = humidity_pct_at(other, vapour_pressure_pa(t, rh))
    assert humidity_pct_at(t, there / 100 * saturation_pressure_pa(other)) == pytest.approx(rh, rel=1e-12)


def test_warm_air_in_a_colder_cave_goes_beyond_saturation() -> None:
    assert humidity_pct_at(5, vapour_pressure_pa(12, 85)) > 100


@every_function_of_air
@given(values=st.lists(st.tuples(temperatures, humidities), min_size=1, max_size=20))
def test_a_value_alone_equals_itself_in_an_array(of_air: Function, values: list[tuple[float, float]]) -> None:
    t, rh = np.array(values).T
    alone = [of_air(one_t, one_rh) for one_t, one_rh in values]
    # The last bits may differ: numpy takes another path through log and exp for a row than for one number.
    np.testing.assert_allclose(of_air(t, rh), alone, rtol=1e-12, atol=1e-11)


@every_function_of_air
def test_a_gap_stays_a_gap_and_touches_no_neighbour(of_air: Function) -> None:
    whole = of_air([-5, -5, -5], [80, 80, 80])
    assert np.isnan(of_air([-5, np.nan, -5], [80, 80, np.nan])).tolist() == [False, True, True]
    assert of_air([-5, np.nan, -5], 80)[2] == whole[2]
    assert np.isnan(of_air(np.nan, 80))
    assert of_air([], []).shape == (0,)


@every_function_of_air
def test_arguments_broadcast_and_numbers_give_a_number(of_air: Function) -> None:
    assert of_air([[-5.0], [-1.0]], [50, 60, 70]).shape == (2, 3)
    assert isinstance(of_air(-5, 80), float)


@every_function_of_air
@pytest.mark.parametrize("wrong", [0, -0.0, -3, 100.5, 101, np.inf])
def test_an_impossible_humidity_is_refused(of_air: Function, wrong: float) -> None:
    with pytest.raises(ValueError, match=rf"^humidity_pct must be above 0 and at most 100 %, got {wrong:g}$"):
        of_air(10, [50, wrong])


@every_function_of_air
@pytest.mark.parametrize("wrong", [-127, -100.5, 201, -np.inf, np.inf])
def test_an_impossible_temperature_is_refused(of_air: Function, wrong: float) -> None:
    with pytest.raises(ValueError, match=rf"^temperature_c must be from -100 to \d+ degC, got {wrong:g}$"):
        of_air([10, wrong], 50)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: saturation_pressure_pa(201), "temperature_c must be from -100 to 200 degC, got 201"),
        (
            lambda: saturation_pressure_ice_pa(0.02),
            "temperature_c must be from -100 to 0.01 degC over ice, got 0.02",
        ),
        (lambda: wet_bulb_c(61, 50), "temperature_c must be from -100 to 60 degC, got 61"),
        (lambda: wet_bulb_c(12, 85, 1013.25), "pressure_pa must be from 30000 to 110000 Pa, got 1013.25"),
        (
            lambda: humidity_ratio_g_kg(12, 85, 120e3),
            "pressure_pa must be from 30000 to 110000 Pa, got 120000",
        ),
        (
            lambda: humidity_ratio_g_kg(100, [5, 100], 101325),
            "pressure_pa must be above the vapour pressure of 101419 Pa, got 101325",
        ),
        (
            lambda: humidity_pct_at(5, -1),
            "vapour_pressure_pa must be above 0 and at most 1600000 Pa, got -1",
        ),
        (
            lambda: dew_point_c([12, -40], 1e-3),
            "humidity_pct must leave a dew point of at least -100 degC, got 0.001",
        ),
    ],
)
def test_the_refusal_names_argument_value_and_limit(call: Callable[[], object], message: str) -> None:
    with pytest.raises(ValueError) as refusal:
        call()
    assert str(refusal.value) == message


def test_both_ends_of_each_range_are_taken() -> None:
    assert np.all(np.isfinite(saturation_pressure_pa([-100, 200])))
    assert np.all(np.isfinite(saturation_pressure_ice_pa([-100, 0.01])))
    assert np.all(np.isfinite(wet_bulb_c([-100, 60, 60], 100, [30_000, 30_000, 110_000])))
