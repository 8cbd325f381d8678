import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from collector.air.channel import UNCHECKED_U
from collector.calibration.in_use import in_use_uncertainty_pct


# "+-3, checked some weeks ago" beside a humidity near 90 that was checked with two salts: common practice, no source;
# data sheets: hysteresis 0.8 to 1, up to +3 after a long stay above 80 %RH.
def test_two_salts_give_about_3_in_a_damp_cave() -> None:
    assert 2 * in_use_uncertainty_pct(0.7, 90.0, 60.0) == pytest.approx(3.0, abs=0.5)


def test_dry_air_spares_the_long_stay() -> None:
    assert in_use_uncertainty_pct(0.7, 70.0, 0.0) == pytest.approx(np.hypot(0.7, 1 / np.sqrt(3)))
    assert in_use_uncertainty_pct(0.7, 85.0, 0.0) > in_use_uncertainty_pct(0.7, 75.0, 0.0)


def test_a_check_of_a_year_ago_is_worth_no_more_than_none() -> None:
    assert in_use_uncertainty_pct(0.7, 90.0, 365.0) > UNCHECKED_U["humidity"]


@given(st.floats(0, 5), st.floats(1, 100), st.floats(0, 2_000), st.floats(0, 2_000))
def test_it_only_grows_with_age(u: float, humidity: float, age: float, more: float) -> None:
    early, late = in_use_uncertainty_pct(u, humidity, np.array([age, age + more]))
    assert u <= early <= late <= 10


def test_a_gap_stays_a_gap() -> None:
    assert np.isnan(in_use_uncertainty_pct(0.7, np.array([np.nan]), 3.0)).all()


def test_refuses_an_age_before_the_check() -> None:
    with pytest.raises(ValueError, match="age_d must be from 0 to"):
        in_use_uncertainty_pct(0.7, 90.0, -1.0)
