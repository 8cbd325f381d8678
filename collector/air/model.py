"""The air of a place on a ten-minute grid."""

from dataclasses import dataclass, field
from enum import IntEnum

import numpy as np
import numpy.typing as npt

from collector.readings.model import Millis, Values

STEP_MS = 600_000


class Origin(IntEnum):
    """Where the value of a ten-minute step comes from, best first."""

    LEAD = 0
    MEDIAN = 1
    TYPED = 2
    PARENT = 3
    ASSUMED = 4
    UNKNOWN = 5


@dataclass(frozen=True, slots=True)
class Course:
    """One quantity of a place over time, shape (n,) each; NaN where nothing is known.

    Args:
        mean, low, high: time-weighted mean and extremes within the step, calibrated, canonical unit.
        known: share of the step that readings speak for, 0..1.
        uncertainty: standard uncertainty (k = 1) of the value, canonical unit.
        origin: an `Origin` for each step.
        spread: time-weighted standard deviation within the step, canonical unit; says nothing where the mean is not
            known. None where nobody reckoned it.
    """

    mean: Values
    low: Values
    high: Values
    known: Values
    uncertainty: Values
    origin: npt.NDArray[np.int8]
    spread: Values | None = None


@dataclass(frozen=True, slots=True)
class Air:
    """The air of one place, step by step: start_ms shape (n,), every STEP_MS without holes."""

    start_ms: Millis
    temperature_c: Course
    humidity_pct: Course
    surface_c: Course | None = None
    sources: tuple[str, ...] = field(default=())

    def __len__(self) -> int:
        return len(self.start_ms)


def unknown_course(n: int) -> Course:
    """A course of n steps of which nothing is known."""
    nothing = np.full(n, np.nan)
    origin = np.full(n, Origin.UNKNOWN, dtype=np.int8)
    return Course(nothing, nothing.copy(), nothing.copy(), np.zeros(n), nothing.copy(), origin, nothing.copy())
