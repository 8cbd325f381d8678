"""Control charts against published worked examples."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from collector.rules.charts import cusum, ewma

# NIST/SEMATECH e-Handbook 6.3.2.3 (data and design from memory of page pmc323, sums recomputed): target 325,
# k 0.3175, h 4.1959.
NIST_CUSUM = np.array(
    [324.925, 324.675, 324.725, 324.350, 325.350, 325.225, 324.125, 324.525, 325.225, 324.600,
     324.625, 325.150, 328.325, 327.250, 327.825, 328.500, 326.675, 327.775, 326.875, 328.350]
)  # fmt: skip
# NIST/SEMATECH e-Handbook 6.3.2.4 (page pmc324): lambda 0.3, start 50, s 2.0539.
NIST_EWMA = np.array(
    [52.0, 47.0, 53.0, 49.3, 50.1, 47.0, 51.0, 50.1, 51.2, 50.5,
     49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1]
)  # fmt: skip
# Montgomery, Introduction to Statistical Quality Control, table 9.1 (as the IMSL documentation of its EWMA example
# reprints it): mean 10, sigma 1; EWMA with lambda 0.10, L 2.7; CUSUM with k 0.5, h 5.
MONTGOMERY = np.array(
    [9.45, 7.99, 9.29, 11.66, 12.16, 10.18, 8.04, 11.46, 9.20, 10.34, 9.03, 11.47, 10.51, 9.40, 10.08,
     9.37, 10.62, 10.31, 8.52, 10.84, 10.90, 9.33, 12.29, 11.50, 10.60, 11.08, 10.38, 11.62, 11.31, 10.52]
)  # fmt: skip


def test_cusum_agrees_with_the_handbook() -> None:
    chart = cusum(NIST_CUSUM, 325, 0.3175, 4.1959)
    upper = [0, 0, 0, 0, 0.0325, 0, 0, 0, 0, 0, 0, 0, 3.0075, 4.94, 7.4475, 10.63, 11.9875, 14.445, 16.0025, 19.035]
    lower = [0, 0.0075, 0, 0.3325, 0, 0, 0.5575, 0.715, 0.1725, 0.255, 0.3125, *[0] * 9]
    assert chart.upper == pytest.approx(upper, abs=1e-9)
    assert chart.lower == pytest.approx(lower, abs=1e-9)
    assert int(np.argmax(chart.signals)) + 1 == 14


def test_cusum_agrees_with_montgomery() -> None:
    chart = cusum(MONTGOMERY, 10, 0.5, 5)
    assert chart.upper[27:] == pytest.approx([4.47, 5.28, 5.30], abs=1e-9)
    assert int(np.argmax(chart.signals)) + 1 == 29


def test_cusum_agrees_with_montgomery_and_runger() -> None:
    # Applied Statistics and Probability for Engineers, example 16-6: target 99 in the recursion, K 1, H 10, no signal.
    x = np.array(
        [102.0, 94.8, 98.3, 98.4, 102.0, 98.5, 99.0, 97.7, 100.0, 98.1,
         101.3, 98.7, 101.1, 98.4, 97.0, 96.7, 100.3, 101.4, 97.2, 101.0]
    )  # fmt: skip
    chart = cusum(x, 99, 1, 10)
    upper = [2.0, 0, 0, 0, 2.0, 0.5, 0, 0, 0, 0, 1.3, 0, 1.1, 0, 0, 0, 0.3, 1.7, 0, 1.0]
    lower = [0, 3.2, 2.9, 2.5, 0, 0, 0, 0.3, 0, 0, 0, 0, 0, 0, 1.0, 2.3, 0, 0, 0.8, 0]
    assert chart.upper == pytest.approx(upper, abs=1e-9)
    assert chart.lower == pytest.approx(lower, abs=1e-9)
    assert not chart.signals.any()


def test_ewma_agrees_with_the_handbook() -> None:
    chart = ewma(NIST_EWMA, 50, 2.0539, 0.3, 3)
    mean = [50.60, 49.52, 50.56, 50.18, 50.16, 49.21, 49.75, 49.85, 50.26, 50.33,
            50.11, 49.36, 49.52, 50.05, 49.38, 49.92, 50.73, 51.23, 51.94, 51.99]  # fmt: skip
    assert chart.mean == pytest.approx(mean, abs=0.005)
    assert (chart.low[-1], chart.high[-1]) == pytest.approx((47.4115, 52.5884), abs=2e-3)
    assert not chart.signals.any()


def test_ewma_agrees_with_montgomery() -> None:
    chart = ewma(MONTGOMERY, 10, 1, 0.10, 2.7)
    assert chart.mean[[0, 1, 27, 28, 29]] == pytest.approx([9.945, 9.7495, 10.5731, 10.6468, 10.6341], abs=1e-4)
    assert chart.high[[0, 1]] == pytest.approx([10.27, 10.3632], abs=1e-4)
    # The book's rounded table signals at 28; with start-up limits at full precision it is 29 (10.6468 > 10.6187).
    assert int(np.argmax(chart.signals)) + 1 == 29


def test_a_gap_leaves_the_charts_as_they_are() -> None:
    with_gap = np.insert(MONTGOMERY, 10, np.nan)
    assert np.delete(cusum(with_gap, 10, 0.5, 5).upper, 10) == pytest.approx(cusum(MONTGOMERY, 10, 0.5, 5).upper)
    gap, plain = ewma(with_gap, 10, 1, 0.1, 2.7), ewma(MONTGOMERY, 10, 1, 0.1, 2.7)
    assert np.delete(gap.mean, 10) == pytest.approx(plain.mean)
    assert np.delete(gap.high, 10) == pytest.approx(plain.high)


def test_charts_refuse_what_they_cannot_draw() -> None:
    with pytest.raises(ValueError, match="slack must be from 0 to inf of the value's unit, got -1"):
        cusum(MONTGOMERY, 10, -1, 5)
    with pytest.raises(ValueError, match="interval must be above 0 of the value's unit, got 0"):
        cusum(MONTGOMERY, 10, 0.5, 0)
    with pytest.raises(ValueError, match="weight must be above 0 and at most 1, got 0"):
        ewma(MONTGOMERY, 10, 1, 0, 3)
    with pytest.raises(ValueError, match="width must be above 0 standard deviations, got 0"):
        ewma(MONTGOMERY, 10, 1, 0.1, 0)


@given(arrays(np.float64, st.integers(1, 40), elements=st.floats(-20, 20)), st.floats(-5, 5))
def test_the_lower_sum_is_the_upper_sum_of_the_mirrored_values(value: np.ndarray, target: float) -> None:
    assert cusum(value, target, 0.5, 5).lower == pytest.approx(cusum(-value, -target, 0.5, 5).upper, abs=1e-9)


@given(arrays(np.float64, st.integers(1, 40), elements=st.floats(-20, 20)), st.floats(0.05, 1))
def test_ewma_stays_within_what_it_has_seen(value: np.ndarray, weight: float) -> None:
    chart = ewma(value, 0, 1, weight, 3)
    assert chart.mean.min() >= min(0, value.min()) - 1e-9
    assert chart.mean.max() <= max(0, value.max()) + 1e-9
