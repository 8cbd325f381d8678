import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from collector.quantities import QUANTITIES
from collector.rules.trust.cleaning import clean_humidity, impossible, limits


def test_a_calibrated_humidity_just_above_100_is_cut_back_and_marked() -> None:
    values, doubtful = clean_humidity(np.array([99.8, 100.0, 100.4, 103.0]))
    assert values.tolist() == [99.8, 100.0, 100.0, 100.0]
    assert doubtful.tolist() == [False, False, True, True]


def test_a_humidity_that_no_good_probe_says_is_set_aside() -> None:
    values, doubtful = clean_humidity(np.array([103.1, 119.0, 255.0, 0.0, -6.0]))
    assert np.isnan(values).all()
    assert doubtful.all()


def test_a_gap_stays_a_gap_and_is_not_doubtful() -> None:
    values, doubtful = clean_humidity(np.array([np.nan, 85.0]))
    assert np.isnan(values[0])
    assert values[1] == 85.0
    assert not doubtful.any()


@given(st.lists(st.floats(-300, 300) | st.just(float("nan")), max_size=20))
def test_what_is_left_is_what_moist_air_takes(raw: list[float]) -> None:
    values, doubtful = clean_humidity(np.array(raw))
    left = values[~np.isnan(values)]
    assert np.all((left > 0) & (left <= 100))
    assert np.all(doubtful[np.isnan(values) & ~np.isnan(np.array(raw))])
    again, _ = clean_humidity(values)
    np.testing.assert_array_equal(again, values)


# DS18B20 data sheet: 85 degC after power-on. -127: its usual library when no sensor answers. -45 degC and -6 % (0 %
# for an SHT3x): what the formulas of the SHT4x data sheet make of a raw zero; 130 degC and 119 % of a raw 0xFFFF.
@pytest.mark.parametrize("value", [85.0, 84.6, -127.0, -45.0, -44.8, 130.0, -200.0, -999.0, 998.0])
def test_fault_numbers_of_thermometers_are_impossible(value: float) -> None:
    assert impossible("temperature", np.array([value, 12.0])).tolist() == [True, False]


@pytest.mark.parametrize("value", [-6.0, 0.0, 119.0, 255.0, 998.0])
def test_fault_numbers_of_hygrometers_are_impossible(value: float) -> None:
    assert impossible("humidity", np.array([value, 92.0])).tolist() == [True, False]


@pytest.mark.parametrize(("quantity", "value"), [("temperature", -12.0), ("temperature", 40.0), ("humidity", 100.4)])
def test_rare_but_true_air_is_possible(quantity: str, value: float) -> None:
    assert not impossible(quantity, np.array([value])).any()


@pytest.mark.parametrize("quantity", sorted(QUANTITIES))
def test_every_quantity_has_limits(quantity: str) -> None:
    lowest, highest = limits(quantity)
    assert impossible(quantity, np.array([np.nan, lowest - 1, highest + 1])).tolist() == [False, True, True]


def test_refuses_an_unknown_quantity() -> None:
    with pytest.raises(ValueError, match=r"quantity must be one of temperature, .* got weather"):
        limits("weather")
