"""The air as rules judge it: time-weighted means over the hour before, and only where it was measured; pure."""

import numpy as np
import numpy.typing as npt

from collector.air.model import Course, Origin
from collector.readings.model import Values
from collector.rules.spells import HOUR_STEPS

LEAST_KNOWN_STEPS = 3.0  # our choice: of less than half an hour, a piece of a cooler's cycle would pass for the mean
DECIMALS = 9  # sums in another order differ in the last bits; rounding there keeps a verdict from hanging on them


def hourly_mean(value: Values, known: Values) -> Values:
    """Mean over the hour that ends with each step, weighted by the time known.

    Args:
        value: mean of each ten-minute step, any unit, shape (n,); NaN where unknown.
        known: share of the step that is known, 0..1, shape (n,).
    Returns:
        Shape (n,), same unit, rounded to 1e-9; NaN where less than half of the hour is known. The first steps
        see only what is there.
    Raises:
        ValueError: shapes that differ.
    Source: our choice: a compressor's cycle of half an hour averages out in it, ten minutes of open door shrink to a
        sixth, and a change of the air itself is seen within the hour.
    """
    if value.shape != known.shape:
        raise ValueError(f"known must have the shape of value {value.shape}, got {known.shape}")
    weight = np.where(np.isnan(value), 0.0, known)
    level = np.where(np.isnan(value), 0.0, value)
    total, time = _trailing_sum(weight * level), _trailing_sum(weight)
    mean = np.full(len(value), np.nan)
    np.divide(total, time, out=mean, where=time >= LEAST_KNOWN_STEPS)
    return np.asarray(np.round(mean, DECIMALS))


def measured(course: Course) -> Values:
    """The means of a course where a probe or a person measured in this very place, NaN elsewhere.

    An assumed air or the parent place's is no evidence of drift here.
    """
    return np.where(course.origin <= Origin.TYPED, course.mean, np.nan)


def trailing_max(value: npt.NDArray[np.float64], steps: int) -> Values:
    """Largest value among each step and the `steps` - 1 before it; NaN only where all are NaN."""
    best = np.asarray(value, dtype=float).copy()
    reach = 1
    while reach < steps:
        shift = min(reach, steps - reach)
        if shift < len(best):
            best[shift:] = np.fmax(best[shift:], best[:-shift])
        reach += shift
    return best


def _trailing_sum(value: Values) -> Values:
    """Sum of each step and the five before it, always added in the same order."""
    padded = np.concatenate([np.zeros(HOUR_STEPS - 1), value])
    total = padded[: len(value)].copy()
    for shift in range(1, HOUR_STEPS):
        total += padded[shift : shift + len(value)]
    return total
