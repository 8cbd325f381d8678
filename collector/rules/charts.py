"""Control charts, CUSUM and EWMA: the yardstick that the drift rules are measured against; pure.

They ask for independent values around a known mean. A cave gives neither, which is why they are no rule here: set so
as to give no more false alarms than the rules do, the bench shows what they would have found, and when.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from collector.limits import within
from collector.readings.model import Values


@dataclass(frozen=True, slots=True)
class Cusum:
    """Sums of what lies above and below the target beyond the slack, and where either passes the interval."""

    upper: Values
    lower: Values
    signals: npt.NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Ewma:
    """The weighted mean after each value, its limits there, and where it lies beyond them."""

    mean: Values
    low: Values
    high: Values
    signals: npt.NDArray[np.bool_]


def cusum(value: Values, target: float, slack: float, interval: float) -> Cusum:
    """Tabular CUSUM of both sides.

    Args:
        value: in order of time, any unit, shape (n,); a NaN leaves both sums as they are.
        target: mean of the undisturbed process, same unit.
        slack: k, half of the shift to be found, same unit, at least 0.
        interval: h, the decision interval, same unit, above 0.
    Returns:
        Sums and signals, shape (n,) each; after a signal the sums go on.
    Raises:
        ValueError: a slack below 0 or an interval not above 0.
    Source: NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.3; Montgomery, Introduction to Statistical
        Quality Control, chapter 9.
    """
    within("slack", slack, 0, np.inf, "of the value's unit")
    if not interval > 0:
        raise ValueError(f"interval must be above 0 of the value's unit, got {interval:g}")
    upper, lower = np.empty(len(value)), np.empty(len(value))
    high = low = 0.0
    for i, x in enumerate(value.tolist()):
        if x == x:
            high = max(0.0, high + x - target - slack)
            low = max(0.0, low + target - slack - x)
        upper[i], lower[i] = high, low
    return Cusum(upper, lower, (upper > interval) | (lower > interval))


def ewma(value: Values, target: float, sigma: float, weight: float, width: float) -> Ewma:
    """Exponentially weighted moving average with limits that open from the start.

    Args:
        value: in order of time, any unit, shape (n,); a NaN leaves the mean as it is.
        target: mean of the undisturbed process, same unit.
        sigma: standard deviation of one value, same unit, at least 0.
        weight: lambda, of the newest value, above 0 and at most 1.
        width: L, of the limits in standard deviations of the mean, above 0.
    Returns:
        Mean, limits and signals, shape (n,) each.
    Raises:
        ValueError: a weight or width out of its range.
    Source: NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.4; start-up limits from Montgomery, Introduction
        to Statistical Quality Control, chapter 9.
    """
    if not 0 < weight <= 1:
        raise ValueError(f"weight must be above 0 and at most 1, got {weight:g}")
    if not width > 0:
        raise ValueError(f"width must be above 0 standard deviations, got {width:g}")
    mean, level = np.empty(len(value)), target
    for i, x in enumerate(value.tolist()):
        if x == x:
            level = weight * x + (1 - weight) * level
        mean[i] = level
    count = np.cumsum(~np.isnan(value))
    reach = width * sigma * np.sqrt(weight / (2 - weight) * (1 - (1 - weight) ** (2 * count)))
    return Ewma(mean, target - reach, target + reach, np.abs(mean - target) > reach)
