import numpy as np
import pytest

from collector.calibration.salts import (
    BY_NAME,
    SALTS,
    USUAL,
    humidity_over_pct,
    jar_uncertainty_pct,
    salt_named,
    uncertainty_over_pct,
)


def test_table_salt_comes_first_and_the_cave_s_pair_spans_it() -> None:
    assert USUAL[0] == "NaCl"
    low, high = (float(humidity_over_pct(BY_NAME[name], 12.0)) for name in USUAL[:2])
    assert high - low > 20


@pytest.mark.parametrize("salt", SALTS, ids=lambda salt: salt.name)
def test_arrays_and_gaps_pass_through(salt) -> None:
    values = humidity_over_pct(salt, np.array([4.0, np.nan, 12.5]))
    assert np.isnan(values[1])
    assert values[2] == humidity_over_pct(salt, 12.5)
    assert np.all(uncertainty_over_pct(salt, np.array([0.0, 30.0])) > 0)


@pytest.mark.parametrize("t", [-0.1, 30.1])
def test_refuses_a_temperature_that_the_table_does_not_hold(t: float) -> None:
    with pytest.raises(ValueError, match=r"temperature_c must be from 0 to 30 Cel, got"):
        humidity_over_pct(BY_NAME["NaCl"], t)


# A humidity calibrator's manual: 1 K between probe and salt at 20 degC is +-6 %RH at 97 %; 0.1 K at 12 degC over table
# salt is 0.50 (computed from Hyland and Wexler's pressure).
def test_a_jar_is_as_uncertain_as_its_temperature() -> None:
    far = jar_uncertainty_pct(BY_NAME["K2SO4"], 20.0, 1.0)
    assert far == pytest.approx(6.0, abs=0.3)
    near = jar_uncertainty_pct(BY_NAME["NaCl"], 12.0, 0.1)
    assert near == pytest.approx(np.sqrt(0.204**2 + 0.50**2 + 0.5**2), abs=0.01)


def test_every_salt_but_table_salt_carries_a_caution() -> None:
    assert [salt.name for salt in SALTS if salt.food] == ["NaCl"]
    assert all(salt.caution for salt in SALTS)
    for name in ("K2CO3", "Mg(NO3)2", "KNO3", "NaBr"):
        assert "Not for eating" in BY_NAME[name].caution


def test_refuses_an_unknown_salt() -> None:
    with pytest.raises(ValueError, match=r"salt must be one of NaCl, .* got sugar"):
        salt_named("sugar")
