import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from scipy.stats import theilslopes

from collector.theil_sen import correlation_factor, theil_sen

# Twelve daily humidities with one wild value: scipy 1.17.1 gives the numbers below.
DAILY = np.array([85.1, 85.0, 84.6, 84.9, 84.2, 84.0, 88.0, 83.6, 83.3, 83.5, 82.9, 82.7])
DAYS = np.arange(12.0)


def test_agrees_with_the_worked_example() -> None:
    line = theil_sen(DAYS, DAILY)
    assert line is not None
    assert (line.slope, line.low, line.high) == pytest.approx((-0.217424, -0.242857, -0.200000), abs=1e-6)
    assert line.intercept == pytest.approx(85.295833, abs=1e-6)


@given(
    st.integers(4, 60).flatmap(
        lambda n: arrays(np.float64, (2, n), elements=st.integers(-300, 300).map(lambda v: v / 10))
    ),
    st.sampled_from([0.8, 0.9, 0.95, 0.99]),
)
def test_agrees_with_scipy_on_any_points(points: np.ndarray, confidence: float) -> None:
    x, y = points
    ours = theil_sen(x, y, confidence)
    if ours is None:
        assert len(np.unique(x)) == 1
        return
    with np.errstate(invalid="ignore"):  # with nearly all values tied scipy takes the root of a negative variance
        theirs = theilslopes(y, x, confidence)
    assert (ours.slope, ours.intercept) == pytest.approx((theirs.slope, theirs.intercept), abs=1e-9)
    if np.isnan(theirs.low_slope):
        assert ours.low <= ours.slope <= ours.high
        return
    assert (ours.low, ours.high) == pytest.approx((theirs.low_slope, theirs.high_slope), abs=1e-9)


def test_one_wild_value_in_three_does_not_bend_the_line() -> None:
    y = 90 - 0.5 * np.arange(30.0)
    y[::4] += 40
    line = theil_sen(np.arange(30.0), y)
    assert line is not None
    assert line.slope == pytest.approx(-0.5, abs=0.05)


def test_gaps_are_left_out() -> None:
    with_gaps = DAILY.copy()
    with_gaps[[2, 9]] = np.nan
    known = ~np.isnan(with_gaps)
    assert theil_sen(DAYS, with_gaps) == theil_sen(DAYS[known], DAILY[known])


def test_too_few_points_give_no_line() -> None:
    assert theil_sen(DAYS[:2], DAILY[:2]) is None
    assert theil_sen(np.zeros(5), DAILY[:5]) is None


# 168 hourly values: standard errors grow by 1.732 at rho 0.5 and 3.000 at rho 0.8 (n (1 - rho) / (1 + rho)).
@pytest.mark.parametrize(("rho", "factor"), [(0.0, 1.0), (0.5, 1.732), (0.8, 3.0)])
def test_correlation_factor_is_that_of_a_first_order_process(rho: float, factor: float) -> None:
    chance = np.random.default_rng(1).standard_normal(20_000)
    course = np.zeros(20_000)
    for i in range(1, 20_000):
        course[i] = rho * course[i - 1] + chance[i]
    assert correlation_factor(course) == pytest.approx(factor, rel=0.05)


def test_a_slow_wander_widens_the_interval() -> None:
    wander = np.cumsum(np.random.default_rng(4).standard_normal(60))
    plain, careful = theil_sen(np.arange(60.0), wander), theil_sen(np.arange(60.0), wander, correlated=True)
    assert plain is not None
    assert careful is not None
    assert careful.slope == plain.slope
    assert careful.high - careful.low > 2 * (plain.high - plain.low)


def test_refuses_wrong_calls() -> None:
    with pytest.raises(ValueError, match="same length, got"):
        theil_sen(DAYS, DAILY[:5])
    with pytest.raises(ValueError, match="confidence must be above 0 and below 1, got 1"):
        theil_sen(DAYS, DAILY, 1.0)
    with pytest.raises(ValueError, match="at most 2000 points, got 2001"):
        theil_sen(np.arange(2001.0), np.zeros(2001))
