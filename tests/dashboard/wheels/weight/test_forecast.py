"""What a wheel will weigh: intervals that hold, widen where they must, and answer to the air."""

import numpy as np
import pytest
from scipy import stats

from collector.air.model import Origin
from dashboard.wheels.weight.fit import Fit, fitted
from dashboard.wheels.weight.forecast import Course, foretold, quantiles, shown_on_scale
from dashboard.wheels.weight.to_come import Doubt, repeated, spread_pct, steady
from tests.dashboard.wheels.weight.air_of_tests import a_wheel, at, felt, weighed

DAYS = [0.0, 7, 14, 21, 28, 35, 42]
GRAMS = [3393 - 5.48 * day for day in DAYS]
DUE = np.array([at(102)])


def a_fit(**more: object) -> Fit:
    return fitted(a_wheel("washed"), weighed(DAYS, GRAMS), felt(42, **more))


def ahead(fit: Fit, humidity: float = 85.0, doubt: Doubt = Doubt(1.0)) -> Course:  # noqa: B008
    return foretold(fit, fit.exposure.then(steady(12.0, humidity, doubt, (at(42), at(102)))), DUE)


def width(course: Course) -> float:
    return float(course.high_g[0] - course.low_g[0])


def test_the_same_air_goes_on_with_the_same_loss() -> None:
    course = ahead(a_fit())
    assert course.low_g[0] < 3393 - 5.48 * 102 < course.high_g[0]
    assert course.middle_g[0] == pytest.approx(3393 - 5.48 * 102, abs=60)


def test_drier_air_takes_more_and_damp_air_gives_back() -> None:
    fit = a_fit()
    middles = [ahead(fit, humidity).middle_g[0] for humidity in (75.0, 85.0, 92.0, 99.5)]
    assert middles == sorted(middles)
    assert middles[-1] > GRAMS[-1] - 5.48 * 30  # nearly all that still leaves is breath


def test_an_unsure_future_an_assumed_past_and_unknown_time_widen() -> None:
    plain = width(ahead(a_fit()))
    assert width(ahead(a_fit(), doubt=Doubt(5.0))) > 1.2 * plain
    guessed = fitted(a_wheel("washed"), weighed(DAYS, GRAMS), felt(42, u=8.0, origin=Origin.ASSUMED))
    assert width(ahead(guessed, doubt=Doubt(1.0, 2.0, 0))) > plain
    damp = np.full(42 * 144, 85.0)
    damp[20 * 144 :] = np.nan
    assert width(ahead(fitted(a_wheel("washed"), weighed(DAYS, GRAMS), felt(42, damp=damp)))) > plain


def test_intervals_widen_with_the_days_ahead_and_with_fewer_weighings() -> None:
    fit = a_fit()
    exposure = fit.exposure.then(steady(12.0, 85.0, Doubt(1.0), (at(42), at(102))))
    course = foretold(fit, exposure, np.array([at(49), at(72), at(102)]))
    widths = course.high_g - course.low_g
    assert list(widths) == sorted(widths)
    few = fitted(a_wheel("washed"), weighed(DAYS[:2], GRAMS[:2]), felt(42))
    assert width(ahead(few)) > 1.5 * width(ahead(fit))


def test_what_the_last_weighing_says_holds_today() -> None:
    fit = a_fit()
    now = foretold(fit, fit.exposure, np.array([at(42)]))
    assert now.middle_g[0] == pytest.approx(GRAMS[-1], abs=3)


def test_quantiles_of_a_mixture() -> None:
    mean, sd, weight = np.array([[0.0], [10.0]]), np.array([[1.0], [2.0]]), np.array([0.25, 0.75])
    shares = (0.05, 0.5, 0.95)
    for share, (x,) in zip(shares, quantiles(shares, mean, sd, weight), strict=True):
        mixed = 0.25 * stats.norm.cdf(x, 0, 1) + 0.75 * stats.norm.cdf(x, 10, 2)
        assert mixed == pytest.approx(share, abs=1e-6)


def test_how_likely_below_a_limit_agrees_with_the_interval() -> None:
    course = ahead(a_fit())
    assert course.below(float(course.low_g[0]))[0] == pytest.approx(0.05, abs=1e-4)
    assert course.below(float(course.middle_g[0]))[0] == pytest.approx(0.5, abs=1e-4)


def test_a_scale_adds_its_own_spread() -> None:
    course = ahead(a_fit())
    assert width(shown_on_scale(course, 50.0)) > width(course)
    assert width(shown_on_scale(course, 0.0)) == pytest.approx(width(course), rel=1e-6)


def test_refuses_times_that_no_air_reaches() -> None:
    fit = a_fit()
    with pytest.raises(ValueError, match="must lie within"):
        foretold(fit, fit.exposure, DUE)


def test_last_months_air_goes_on_by_its_pressures() -> None:
    month = felt(30, damp=85 + 8 * np.sin(np.arange(4320) / 3))
    onward = repeated(month, Doubt(1.0), (at(30), at(60)))
    assert onward.mean_pull_pa(0.97) == pytest.approx(month.mean_pull_pa(0.97))
    with pytest.raises(ValueError, match="at most 100"):
        steady(12, 101, Doubt(), (at(0), at(1)))


def test_the_spread_of_past_stretches() -> None:
    by_stretch = np.repeat([80.0, 84.0, 88.0, 84.0], 10 * 144)
    own = spread_pct(felt(40, damp=by_stretch), 10)
    assert own == pytest.approx(np.std([80, 84, 88, 84], ddof=1), rel=1e-3)
    assert spread_pct(felt(15), 10) == 2.5  # too short a record: the usual
