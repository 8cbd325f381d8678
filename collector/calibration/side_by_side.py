"""A probe beside a checked one in the same air: its offset, and how well that is known; pure."""

from dataclasses import dataclass
from math import hypot, sqrt
from typing import Literal

import numpy as np

from collector.air.model import STEP_MS
from collector.calibration.fit import Point
from collector.limits import above_zero
from collector.readings.model import Values
from collector.theil_sen import correlation_factor, theil_sen

Missing = Literal["time", "still_moving", "scatter"]

STEPS_H = STEP_MS / 3_600_000
LEAST_STEPS = 36  # our choice: six hours, a dozen cooler cycles
# What two probes a hand's width apart may truly differ by; a standard uncertainty, our choice.
SAME_AIR_U = {"humidity": 0.5, "temperature": 0.1, "surface_temperature": 0.2, "pressure": 20.0}
# By how much their difference may have moved from the beginning to the end, and how far a single ten-minute mean may
# lie off: beyond it the two do not hang in the same air, or one is still settling. Our choice.
MOST_MOVED = {"humidity": 1.0, "temperature": 0.3, "surface_temperature": 0.4, "pressure": 50.0}
MOST_SCATTER = {"humidity": 2.0, "temperature": 0.5, "surface_temperature": 0.5, "pressure": 100.0}


@dataclass(frozen=True, slots=True)
class Comparison:
    """What a stay side by side tells so far.

    Args:
        missing: nothing when it can be taken; else more time, a difference that no longer moves, or one that does not
            scatter (the same air).
        offset: true minus reading, the median [canonical unit].
        standard_error: of that median, widened for autocorrelation.
        uncertainty: standard uncertainty of the corrected value: that, the checked probe's own, and the same air's.
        moved: how far the difference went from beginning to end. scatter: its standard deviation.
        reading, true: medians of the two.
        steps: ten-minute steps in which both were known.
    """

    missing: tuple[Missing, ...]
    offset: float
    standard_error: float
    uncertainty: float
    moved: float
    scatter: float
    reading: float
    true: float
    steps: int

    @property
    def point(self) -> Point:
        """The comparison as one point of a humidity probe's calibration."""
        return Point(self.reading, self.reading + self.offset, self.uncertainty)


def compare(quantity: str, reading: Values, true: Values, true_u: float) -> Comparison:
    """A probe against a checked one that hung beside it.

    Args:
        quantity: humidity, temperature, surface_temperature or pressure.
        reading: ten-minute means of the probe, without any calibration of its own, canonical unit, shape (n,).
        true: those of the checked probe, calibrated, on the same steps. A step with a NaN in either is left out.
        true_u: standard uncertainty of the checked probe, canonical unit, above 0.
    Returns:
        The comparison; its numbers are NaN when no step is known of both.
    Raises:
        ValueError: another quantity, shapes that differ, or an uncertainty that is not above 0.
    Source: median and 1.253 standard errors of a mean (its efficiency at a normal distribution); von Storch and Zwiers
        for autocorrelation, see collector/theil_sen.py; limits are our choice.
    """
    _check(quantity, reading, true, true_u)
    known = ~(np.isnan(reading) | np.isnan(true))
    difference = (true - reading)[known]
    if not len(difference):
        return Comparison(("time",), np.nan, np.nan, np.nan, np.nan, np.nan, np.nan, np.nan, 0)
    offset = float(np.median(difference))
    scatter = 1.4826 * float(np.median(np.abs(difference - offset)))
    error = 1.253 * scatter / sqrt(len(difference)) * correlation_factor(difference - float(difference.mean()))
    moved = _moved(np.flatnonzero(known).astype(np.float64) * STEPS_H, difference)
    return Comparison(
        _missing(quantity, len(difference), moved, scatter),
        offset=offset,
        standard_error=error,
        uncertainty=hypot(error, true_u, SAME_AIR_U[quantity]),
        moved=moved,
        scatter=scatter,
        reading=float(np.median(reading[known])),
        true=float(np.median(true[known])),
        steps=len(difference),
    )


def _check(quantity: str, reading: Values, true: Values, true_u: float) -> None:
    if quantity not in SAME_AIR_U:
        raise ValueError(f"quantity must be one of {', '.join(SAME_AIR_U)}, got {quantity}")
    if reading.shape != true.shape:
        raise ValueError(f"reading and true must have one and the same shape, got {reading.shape} and {true.shape}")
    above_zero("true_u", true_u, 1e6, "of the quantity")


def _moved(hours: Values, difference: Values) -> float:
    """How far the robust line through the difference goes from its beginning to its end."""
    line = theil_sen(hours, difference)
    return 0.0 if line is None else line.slope * float(hours[-1] - hours[0])


def _missing(quantity: str, steps: int, moved: float, scatter: float) -> tuple[Missing, ...]:
    found: list[Missing] = []
    if steps < LEAST_STEPS:
        found.append("time")
    if abs(moved) > MOST_MOVED[quantity]:
        found.append("still_moving")
    if scatter > MOST_SCATTER[quantity]:
        found.append("scatter")
    return tuple(found)
