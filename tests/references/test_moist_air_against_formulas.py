"""Dew points against those of other published formulas, each inverted numerically and not by our own inversion.

The tolerances are the largest differences found when the formulas were compared apart from this package, rounded
up: they measure how far the formulas lie apart, so a tighter bound would test the choice of formula. Coefficients
of Sonntag and of WMO-No. 8 were read in copies, those of Murphy and Koop, Bolton, and Alduchov and Eskridge are
from memory.
"""

from collections.abc import Callable
from math import log

import numpy as np
import pytest
from numpy.typing import NDArray

from collector.moist_air import dew_point_c
from tests.references.published import table

Values = NDArray[np.float64]
Formula = Callable[[Values], Values]


def magnus(pascal: float, b: float, c_k: float) -> Formula:
    return lambda t: log(pascal) + b * t / (c_k + t)


def ln_sonntag(t: Values) -> Values:
    """Sonntag 1990, Z. Meteorol. 70:340, over water; p in hPa, hence the ln 100."""
    k = t + 273.15
    return -6096.9385 / k + 16.635794 - 2.711193e-2 * k + 1.673952e-5 * k**2 + 2.433502 * np.log(k) + log(100)


def ln_murphy_koop(t: Values) -> Values:
    """Murphy and Koop 2005, Q. J. R. Meteorol. Soc. 131:1539, equation 10, over supercooled and liquid water."""
    k = t + 273.15
    cold = 53.878 - 1331.22 / k - 9.44523 * np.log(k) + 0.014025 * k
    total: Values = 54.842763 - 6763.22 / k - 4.210 * np.log(k) + 0.000367 * k + np.tanh(0.0415 * (k - 218.8)) * cold
    return total


WMO = magnus(611.2, 17.62, 243.12)  # WMO-No. 8 (2023), annex 4.B
BOLTON = magnus(611.2, 17.67, 243.5)  # Bolton 1980, Mon. Weather Rev. 108:1046
ALDUCHOV_ESKRIDGE = magnus(610.94, 17.625, 243.04)  # Alduchov and Eskridge 1996, J. Appl. Meteorol. 35:601


def dew_point_by(formula: Formula, t: Values, rh: Values) -> Values:
    """Inverts a formula for ln p by a table in steps of 1 mK, which interpolation reads to better than 1e-8 K."""
    steps = np.arange(-60, 45, 1e-3)
    dew_points: Values = np.interp(formula(t) + np.log(rh / 100), formula(steps), steps)
    return dew_points


# The judges are judged first: the table was made apart from this file, and prints to 1e-7.
@pytest.mark.parametrize(("formula", "column"), [(ln_sonntag, "sonntag_pa"), (ln_murphy_koop, "murphy_koop_pa")])
def test_the_formula_is_the_published_one(formula: Formula, column: str) -> None:
    known = table("saturation_over_water")
    np.testing.assert_allclose(np.exp(formula(known["temperature_c"])), known[column], rtol=2e-7)


@pytest.mark.parametrize(
    ("formula", "tolerance"),
    [(ln_sonntag, 5e-3), (WMO, 0.05), (ALDUCHOV_ESKRIDGE, 0.03), (BOLTON, 0.05)],
    ids=["sonntag", "wmo", "alduchov_eskridge", "bolton"],
)
def test_dew_point_over_water_agrees_with(formula: Formula, tolerance: float) -> None:
    t, rh = np.meshgrid(np.linspace(0.01, 40, 81), np.linspace(10, 100, 46))
    ours = dew_point_c(t, rh)
    liquid = ours >= 0.01
    np.testing.assert_allclose(ours[liquid], dew_point_by(formula, t, rh)[liquid], rtol=0, atol=tolerance)


@pytest.mark.parametrize(
    ("formula", "tolerance"),
    [(ln_sonntag, 0.01), (ln_murphy_koop, 0.04), (WMO, 0.07)],
    ids=["sonntag", "murphy_koop", "wmo"],
)
def test_dew_point_over_supercooled_water_agrees_with(formula: Formula, tolerance: float) -> None:
    t, rh = np.meshgrid(np.linspace(-5, 40, 91), np.linspace(10, 100, 46))
    ours = dew_point_c(t, rh)
    supercooled = ours < 0
    theirs = dew_point_by(formula, t, rh)
    np.testing.assert_allclose(ours[supercooled], theirs[supercooled], rtol=0, atol=tolerance)
