"""Paying for many looks, held against the worked example and scipy."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import false_discovery_control

from dashboard.lookback.many_looks import benjamini_hochberg

# Benjamini and Hochberg 1995, J. R. Statist. Soc. B 57:289-300, section 4.1: fifteen p-values, four rejected at 5 %.
WORKED = [
    0.0001, 0.0004, 0.0019, 0.0095, 0.0201, 0.0278, 0.0298, 0.0344, 0.0459, 0.3240, 0.4262, 0.5719, 0.6528, 0.7590, 1.0,
]  # fmt: skip
# The adjusted values are those of statsmodels' multipletests, method "fdr_bh".
ADJUSTED = [0.0015, 0.0030, 0.0095, 0.035625, 0.0603, 0.063857, 0.063857, 0.0645, 0.0765, 0.486, 0.581182, 0.714875]


def test_agrees_with_the_worked_example() -> None:
    adjusted = benjamini_hochberg(WORKED)
    assert sum(value <= 0.05 for value in adjusted) == 4
    assert adjusted[:12] == pytest.approx(ADJUSTED, abs=1e-6)


@given(st.lists(st.floats(0, 1), min_size=1, max_size=40))
def test_agrees_with_scipy_in_any_order(p: list[float]) -> None:
    assert benjamini_hochberg(p) == pytest.approx(list(false_discovery_control(p, method="bh")))


def test_one_look_costs_nothing_and_none_is_none() -> None:
    assert benjamini_hochberg([0.03]) == [0.03]
    assert benjamini_hochberg([]) == []


@pytest.mark.parametrize("p", [-0.1, 1.1, float("nan")])
def test_refuses_what_is_no_p_value(p: float) -> None:
    with pytest.raises(ValueError, match="p must be from 0 to 1, got"):
        benjamini_hochberg([0.5, p])
