"""Many ten-minute steps as few points: mean, lowest, highest and how much is known; extremes are never lost. Pure."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from collector.air.model import Course
from collector.readings.model import Values

Flags = npt.NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Line:
    """A reduced quantity, shape (m,) each; NaN where nothing is known.

    Args:
        mean, low, high: of the point's time, in the unit of what was reduced.
        known: share of the point's time that is known, 0..1.
    """

    mean: Values
    low: Values
    high: Values
    known: Values

    def __len__(self) -> int:
        return len(self.mean)

    @property
    def is_empty(self) -> bool:
        return bool(np.isnan(self.mean).all())


def reduce_steps(mean: Values, low: Values, high: Values, known: Values, per: int) -> Line:
    """Takes each `per` steps together.

    Args:
        mean, low, high: of each step, any unit, shape (n,), NaN where unknown.
        known: share of each step that is known, 0..1, shape (n,).
        per: steps a point, at least 1; a last point of fewer steps stands for those.
    Returns:
        Line of shape (ceil(n / per),). The mean is weighted by the time known; where no time is known but a value
        is (an assumed air), all such steps count alike.
    Raises:
        ValueError: per below 1.
    """
    if per < 1:
        raise ValueError(f"per must be at least 1 step, got {per}")
    if per == 1:
        return Line(mean, low, high, np.where(np.isnan(mean), 0.0, known))
    rows_mean, rows_known = _rows(mean, per, np.nan), _rows(known, per, 0.0)
    some = ~np.isnan(rows_mean)
    weight = np.where(some, rows_known, 0.0)
    weight = np.where(weight.sum(axis=1, keepdims=True) > 0, weight, some.astype(float))
    total, time = (weight * np.where(some, rows_mean, 0.0)).sum(axis=1), weight.sum(axis=1)
    point = np.full(len(time), np.nan)
    np.divide(total, time, out=point, where=time > 0)
    steps = np.minimum(per, len(mean) - per * np.arange(len(time)))
    share = np.where(some, rows_known, 0.0).sum(axis=1) / steps
    return Line(point, _extreme(_rows(low, per, np.nan), np.fmin), _extreme(_rows(high, per, np.nan), np.fmax), share)


def reduce_course(course: Course, rows: Flags, per: int) -> Line:
    """Some steps of a course, taken together; the others count as unknown."""
    mean, low, high = (np.where(rows, values, np.nan) for values in (course.mean, course.low, course.high))
    return reduce_steps(mean, low, high, course.known, per)


def reduce_values(values: Values, known: Values, per: int) -> Line:
    """A derived quantity that has one value a step."""
    return reduce_steps(values, values, values, known, per)


def joined(lines: list[Line]) -> Line:
    """Lines of stretches that follow on each other, as one."""
    names = ("mean", "low", "high", "known")
    return Line(*(np.concatenate([getattr(line, name) for line in lines]) for name in names))


def _rows(values: Values, per: int, fill: float) -> Values:
    missing = -len(values) % per
    padded = np.concatenate([values, np.full(missing, fill)]) if missing else values
    return padded.reshape(-1, per)


def _extreme(rows: Values, least_or_most: np.ufunc) -> Values:
    # fmin and fmax leave NaN only where all are.
    return np.asarray(least_or_most.reduce(rows, axis=1))
