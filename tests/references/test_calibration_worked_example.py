"""A three-point calibration worked out beforehand with numpy's least squares, to six figures.

Readings 31.5, 73.1 and 95.0 %RH over MgCl2, NaCl and K2SO4 at 20 degC; weights from Greenspan's uncertainties.
"""

import numpy as np
import pytest
from scipy.stats import chi2

from collector.calibration.fit import SUSPICIOUS_CHI_SQUARE, Point, fit

POINTS = (Point(31.5, 33.07, 0.18), Point(73.1, 75.47, 0.14), Point(95.0, 97.59, 0.53))


def test_offset_gain_and_their_errors() -> None:
    found = fit(POINTS)
    assert (found.offset, found.gain) == pytest.approx((0.995779, 1.018554), abs=6e-7)
    assert (found.offset_error, found.gain_error) == pytest.approx((0.320981, 0.005123), abs=6e-7)
    assert found.covariance == pytest.approx(-0.00154826, abs=6e-9)
    assert (found.chi_square, found.freedom) == pytest.approx((0.12059, 1), abs=6e-6)
    assert found.residuals == pytest.approx((-0.01023, 0.01794, -0.16839), abs=6e-6)
    assert not found.suspicious


def test_corrected_values_and_their_errors() -> None:
    found = fit(POINTS)
    readings = np.array([80.0, 85.0, 90.0, 95.0])
    np.testing.assert_allclose(found.corrected(readings), [82.4801, 87.5729, 92.6656, 97.7584], atol=6e-5)
    np.testing.assert_allclose(found.standard_error(readings), [0.1526, 0.1717, 0.1922, 0.2139], atol=6e-5)


def test_two_points_are_met_exactly() -> None:
    found = fit(POINTS[:2])
    assert (found.gain, found.offset) == pytest.approx((1.0192308, 0.9642308), abs=6e-8)
    assert found.freedom == 0


# numpy's weighted polyfit with the covariance unscaled is a second way to the same numbers.
def test_agrees_with_numpys_weighted_least_squares() -> None:
    rng = np.random.default_rng(3)
    reading = rng.uniform(30, 98, 6)
    points = [Point(r, 2 + 0.97 * r + rng.normal(0, 0.5), rng.uniform(0.2, 1)) for r in reading]
    x, y, w = (np.array(v) for v in zip(*[(p.reading, p.true, 1 / p.uncertainty) for p in points], strict=True))
    (gain, offset), cov = np.polyfit(x, y, 1, w=w, cov="unscaled")
    found = fit(points)
    assert (found.offset, found.gain) == pytest.approx((offset, gain), rel=1e-9)
    assert (found.offset_error**2, found.gain_error**2) == pytest.approx((cov[1, 1], cov[0, 0]), rel=1e-9)
    assert found.covariance == pytest.approx(cov[0, 1], rel=1e-9)


def test_the_table_of_chi_square_agrees_with_scipy() -> None:
    for freedom, limit in enumerate(SUSPICIOUS_CHI_SQUARE, start=1):
        assert limit == pytest.approx(chi2.ppf(0.99, freedom), abs=6e-4)
