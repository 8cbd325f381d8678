"""A straight line through readings that a few wild ones cannot bend; pure."""

from dataclasses import dataclass
from math import sqrt
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]

# Above this many points the pairs no longer fit a small machine's memory with ease (2,000 points: 2 million pairs).
MOST_POINTS = 2_000
# Our choice: beyond it the readings hardly repeat each other's chance and no interval can be had from them.
HIGHEST_CORRELATION = 0.95


@dataclass(frozen=True, slots=True)
class Line:
    """y = intercept + slope * x; the slope lies between low and high at the confidence that was asked for."""

    slope: float
    intercept: float
    low: float
    high: float
    points: int


def theil_sen(x: FloatArray, y: FloatArray, confidence: float = 0.95, *, correlated: bool = False) -> Line | None:
    """The median of the slopes between all pairs of points, with Sen's interval.

    Args:
        x: rising or not, any unit, shape (n,), at most 2,000 points.
        y: any unit, shape (n,). A point with a NaN in x or y is left out.
        confidence: of the interval, above 0 and below 1.
        correlated: the points are evenly spaced and each resembles the one before (a quiet cave does), so the
            interval is stretched about the slope by `correlation_factor` of what is left beside the line. (Asking
            Sen's ranks for a wider interval instead would soon end at the steepest pair of neighbours.)
    Returns:
        The line, or None when fewer than three points or no two different x are left.
    Raises:
        ValueError: shapes that differ, more than 2,000 points, or a confidence out of its range.
    Source: Sen, J. Am. Stat. Assoc. 63:1379 (1968), equation 2.6 for the interval with ties; the intercept is
        median(y) - slope * median(x) (Conover, Practical Nonparametric Statistics).
    """
    _check(x, y, confidence)
    known = ~(np.isnan(x) | np.isnan(y))
    x, y = x[known], y[known]
    first, second = np.triu_indices(len(x), 1)
    run, rise = x[second] - x[first], y[second] - y[first]
    apart = run != 0
    if len(x) < 3 or not apart.any():
        return None
    slopes = np.sort(rise[apart] / run[apart])
    slope = float(np.median(slopes))
    intercept = float(np.median(y) - slope * np.median(x))
    widen = correlation_factor(y - intercept - slope * x) if correlated else 1.0
    low, high = _interval(slopes, x, y, NormalDist().inv_cdf((1 + confidence) / 2))
    return Line(slope, intercept, slope - widen * (slope - low), slope + widen * (high - slope), len(x))


def correlation_factor(residuals: FloatArray) -> float:
    """By how much a standard error grows because each value resembles the one before it.

    Args:
        residuals: what is left beside a line at even spacing, shape (n,), without NaN.
    Returns:
        sqrt((1 + rho) / (1 - rho)), at least 1; rho is the correlation with the neighbour, 0 to 0.95.
    Source: effective number of values n (1 - rho) / (1 + rho) of a first-order process (von Storch and Zwiers,
        Statistical Analysis in Climate Research, section 6.6, from memory). A rho taken from few values beside a
        fitted line comes out too small by about (2 + 4 rho) / n, which is added back.
    """
    n = len(residuals)
    spread = float(np.sum(residuals**2))
    if n < 4 or spread <= 0:
        return 1.0
    seen = float(np.sum(residuals[1:] * residuals[:-1])) / spread
    rho = min(max(seen + (2 + 4 * seen) / n, 0.0), HIGHEST_CORRELATION)
    return sqrt((1 + rho) / (1 - rho))


def _check(x: FloatArray, y: FloatArray, confidence: float) -> None:
    if x.shape != y.shape or x.ndim != 1:
        raise ValueError(f"x and y must have one and the same length, got {x.shape} and {y.shape}")
    if len(x) > MOST_POINTS:
        raise ValueError(f"x must hold at most {MOST_POINTS} points, got {len(x)}")
    if not 0 < confidence < 1:
        raise ValueError(f"confidence must be above 0 and below 1, got {confidence:g}")


def _interval(slopes: FloatArray, x: FloatArray, y: FloatArray, z: float) -> tuple[float, float]:
    n, pairs = len(x), len(slopes)
    variance = (n * (n - 1) * (2 * n + 5) - _ties(x) - _ties(y)) / 18
    reach = z * sqrt(max(variance, 0.0))
    upper = min(int(np.round((pairs + reach) / 2)), pairs - 1)
    lower = max(int(np.round((pairs - reach) / 2)) - 1, 0)
    return float(slopes[lower]), float(slopes[upper])


def _ties(values: FloatArray) -> float:
    _, count = np.unique(values, return_counts=True)
    return float(np.sum(count * (count - 1) * (2 * count + 5)))
