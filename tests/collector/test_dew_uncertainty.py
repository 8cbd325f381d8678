from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from collector.dew_uncertainty import dew_point_slopes, dew_point_uncertainty_k, margin_uncertainty_k
from collector.moist_air import dew_point_c
from tests.references.published import table

KNOWN = table("dew_point_uncertainty")
PROBES = {
    "u_01_10": (0.1, 1.0),
    "u_02_18": (0.2, 1.8),
    "u_02_20": (0.2, 2.0),
    "u_03_30": (0.3, 3.0),
    "u_05_50": (0.5, 5.0),
}


def test_slopes_agree_with_central_differences() -> None:
    ours = dew_point_slopes(KNOWN["temperature_c"], KNOWN["humidity_pct"])
    np.testing.assert_allclose(ours.k_per_k, KNOWN["k_per_k"], rtol=1e-3)
    np.testing.assert_allclose(ours.k_per_pct, KNOWN["k_per_pct"], rtol=1e-3)


# The closed forms follow from the Magnus formula of WMO-No. 8, annex 4.B, and are good to 0.3 %.
def test_slopes_agree_with_the_closed_forms_of_magnus() -> None:
    t, rh = np.meshgrid(np.arange(5, 21), np.arange(60, 100, 5))
    ours, dew = dew_point_slopes(t, rh), dew_point_c(t, rh)
    np.testing.assert_allclose(ours.k_per_k, ((243.12 + dew) / (243.12 + t)) ** 2, rtol=3e-3)
    np.testing.assert_allclose(ours.k_per_pct, (243.12 + dew) ** 2 / (17.62 * 243.12 * rh), rtol=3e-3)


@pytest.mark.parametrize("probe", sorted(PROBES))
def test_uncertainty_of_common_probes_agrees_with_the_table(probe: str) -> None:
    ours = dew_point_uncertainty_k(KNOWN["temperature_c"], KNOWN["humidity_pct"], *PROBES[probe])
    np.testing.assert_allclose(ours, KNOWN[probe], rtol=0, atol=1e-3)


# Two hundred thousand draws know a standard deviation to 0.16 %; four of those, and the 0.1 % of the first order.
def test_uncertainty_agrees_with_monte_carlo() -> None:
    random = np.random.default_rng(0)
    drawn = dew_point_c(random.normal(12, 0.2, 200_000), random.normal(85, 2, 200_000))
    assert dew_point_uncertainty_k(12, 85, 0.2, 2) == pytest.approx(drawn.std(), rel=8e-3)


def test_a_second_element_on_the_surface_adds_its_whole_error() -> None:
    """The square root of 0.39 K squared and 0.5 K squared, by the table's 12 degC row and GUM 5.1.2."""
    ours = margin_uncertainty_k(12, 88, 0.2, 2, surface_u_k=0.5)
    assert ours == pytest.approx(0.64, abs=5e-3)
    assert ours == pytest.approx(np.hypot(dew_point_uncertainty_k(12, 88, 0.2, 2), 0.5), rel=1e-12)


# Drawn independently of the formula: one error of the element moves the air and the surface alike.
def test_one_element_for_both_leaves_the_difference_of_its_errors() -> None:
    random = np.random.default_rng(1)
    error, rh = random.normal(0, 0.5, 200_000), random.normal(60, 1, 200_000)
    margin = (10 + error) - dew_point_c(20 + error, rh)
    assert margin_uncertainty_k(20, 60, 0.5, 1, surface_u_k=None) == pytest.approx(margin.std(), rel=8e-3)


def test_one_element_for_both_is_surer_than_two_as_good() -> None:
    one = margin_uncertainty_k(12, 88, 0.5, 2, surface_u_k=None)
    two = margin_uncertainty_k(12, 88, 0.5, 2, surface_u_k=0.5)
    assert one < dew_point_uncertainty_k(12, 88, 0.5, 2) < two


# The table's row of 12 degC, 98 %: the dew point lies 0.306 K below the air and is known to 0.368 K.
def test_a_probe_good_to_two_points_cannot_tell_98_from_saturated() -> None:
    below_k, known_k = 12 - dew_point_c(12, 98), dew_point_uncertainty_k(12, 98, 0.2, 2)
    assert below_k == pytest.approx(0.306, abs=1e-3)
    assert known_k == pytest.approx(0.368, abs=1e-3)
    assert below_k < known_k


@given(st.floats(-20, 40), st.floats(5, 100), st.floats(0, 2), st.floats(0, 10), st.floats(1, 3))
def test_a_worse_probe_is_never_surer(t: float, rh: float, u_k: float, u_pct: float, factor: float) -> None:
    good, bad = (dew_point_uncertainty_k(t, rh, u_k * f, u_pct * f) for f in (1, factor))
    assert bad == pytest.approx(good * factor, rel=1e-9)


def test_gaps_stay_gaps_and_arguments_broadcast() -> None:
    ours = margin_uncertainty_k([12, np.nan, 12], [[85], [90]], [0.2, 0.2, np.nan], 2, surface_u_k=0.5)
    assert np.isnan(ours).tolist() == [[False, True, True]] * 2
    assert isinstance(dew_point_uncertainty_k(12, 85, 0.2, 2), float)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: dew_point_slopes(12, 101), "humidity_pct must be above 0 and at most 100 %, got 101"),
        (
            lambda: dew_point_uncertainty_k(12, 85, -0.1, 2),
            "temperature_u_k must be from 0 to 50 K, got -0.1",
        ),
        (
            lambda: dew_point_uncertainty_k(12, 85, 0.2, [2, 101]),
            "humidity_u_pct must be from 0 to 100 points, got 101",
        ),
        (
            lambda: margin_uncertainty_k(12, 85, 51, 2, surface_u_k=None),
            "temperature_u_k must be from 0 to 50 K, got 51",
        ),
        (
            lambda: margin_uncertainty_k(12, 85, 0.2, 2, surface_u_k=-1),
            "surface_u_k must be from 0 to 50 K, got -1",
        ),
    ],
)
def test_the_refusal_names_argument_value_and_limit(call: Callable[[], object], message: str) -> None:
    with pytest.raises(ValueError) as refusal:
        call()
    assert str(refusal.value) == message
