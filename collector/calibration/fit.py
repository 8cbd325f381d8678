"""From readings over known humidities to offset and gain, with what they are good for; pure.

true = offset + gain * reading, weighted by how well each point is known. Readings are those of the probe itself,
without any earlier calibration.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import hypot, sqrt

import numpy as np

from collector.errors import EntryRefused
from collector.limits import above_zero, within
from collector.readings.model import Values

# Our choices; a humidity probe from its data sheet is within 5 points, a worn one within 10.
LOWEST_GAIN, HIGHEST_GAIN = 0.75, 1.3
LARGEST_CORRECTION_PCT = 15.0
# Two points nearer to each other than this say nothing about the gain: at 10 points apart and 0.7 known, the gain
# would be known to 0.1 only.
LEAST_SPREAD_PCT = 10.0

# What one point tells about other humidities: the gain is taken as 1, give or take this. It makes of a point at 75
# that is good to +-1.5 a +-4 at 90 (twice the standard uncertainty), as keepers of probes are told to expect.
UNCHECKED_GAIN_U = 0.125
# A probe bends; beyond the points of a fit it may leave the line by this much a point of humidity. Our choice.
BEND_U = 0.04

# Chi-square that 1 in 100 honest sets of points exceeds, by degrees of freedom. Source: tables of the chi-square
# distribution; the tests compare with scipy.
SUSPICIOUS_CHI_SQUARE = (6.635, 9.210, 11.345, 13.277, 15.086, 16.812, 18.475, 20.090)
MOST_POINTS = len(SUSPICIOUS_CHI_SQUARE) + 2


@dataclass(frozen=True, slots=True)
class Point:
    """One comparison.

    Args:
        reading: what the probe said [%RH], its own number without calibration.
        true: what the humidity was [%RH].
        uncertainty: standard uncertainty of that comparison [%RH], above 0.
        temperature_c: measured at the same time [degC]; NaN when not known. Only kept.
    """

    reading: float
    true: float
    uncertainty: float
    temperature_c: float = float("nan")


@dataclass(frozen=True, slots=True)
class Fit:
    """A calibration and how well it is known.

    Args:
        offset, gain: true = offset + gain * reading.
        offset_error, gain_error, covariance: standard errors and covariance of the two; gain_error is 0 when only an
            offset was fitted.
        chi_square, freedom: of the points about the line.
        residuals: true minus corrected, one a point.
        points: what went in.
        offset_only: the gain was not measured and is taken as 1.
    """

    offset: float
    gain: float
    offset_error: float
    gain_error: float
    covariance: float
    chi_square: float
    freedom: int
    residuals: tuple[float, ...]
    points: tuple[Point, ...]
    offset_only: bool

    @property
    def suspicious(self) -> bool:
        """The points lie further from a line than their uncertainties allow: one of the jars was not right."""
        return self.freedom > 0 and self.chi_square > SUSPICIOUS_CHI_SQUARE[self.freedom - 1]

    def corrected(self, reading: float | Values) -> Values:
        """True humidity [%RH] for a reading [%RH]; a NaN stays a NaN. Not cut back to 100."""
        return np.asarray(self.offset + self.gain * np.asarray(reading, dtype=float))

    def standard_error(self, reading: float | Values) -> Values:
        """Standard error [%RH] of the corrected value by the fit alone; widened when the points are suspicious."""
        r = np.asarray(reading, dtype=float)
        variance = self.offset_error**2 + (r * self.gain_error) ** 2 + 2 * r * self.covariance
        return np.asarray(np.sqrt(np.maximum(variance, 0.0)) * self._widening())

    def uncertainty(self, reading: float | Values) -> Values:
        """Standard uncertainty [%RH] of the corrected value, with what the fit cannot know.

        Args:
            reading: of the probe [%RH], scalar or array.
        Returns:
            Same shape. It grows with the distance from the points: quickly when there is only one.
        Source: our choice, UNCHECKED_GAIN_U and BEND_U.
        """
        r = np.asarray(reading, dtype=float)
        growth = UNCHECKED_GAIN_U if self.offset_only else BEND_U
        return np.asarray(np.hypot(self.standard_error(r), growth * self._distance(r)))

    def _distance(self, reading: Values) -> Values:
        """How far a reading is from the nearest of the points, or outside their span when the gain was fitted."""
        readings = np.array([p.reading for p in self.points])
        if self.offset_only:
            return np.asarray(np.min(np.abs(reading[..., np.newaxis] - readings), axis=-1))
        return np.asarray(np.maximum(np.maximum(readings.min() - reading, reading - readings.max()), 0.0))

    def _widening(self) -> float:
        return sqrt(self.chi_square / self.freedom) if self.suspicious else 1.0


def fit(points: Sequence[Point]) -> Fit:
    """Offset and, where the points allow, gain of a humidity probe.

    Args:
        points: 1 to 10. Those within 10 points of each other count as one humidity and give an offset only.
    Returns:
        The weighted least-squares line.
    Raises:
        ValueError: no points or more than ten, a reading or a true value outside 0 to 119 %RH, an uncertainty that is
            not above 0.
        EntryRefused: a gain outside 0.75 to 1.3, or a correction of more than 15 points: no probe that works is so far
            off, so a jar, its salt or the probe is not right.
    Source: weighted least squares with known uncertainties (e.g. Bevington, Data Reduction, chapter 6).
    """
    _check_points(points)
    readings = np.array([p.reading for p in points])
    true = np.array([p.true for p in points])
    weight = 1 / np.array([p.uncertainty for p in points]) ** 2
    offset_only = bool(np.ptp(readings) < LEAST_SPREAD_PCT)
    found = _offset(readings, true, weight) if offset_only else _line(readings, true, weight)
    offset, gain, offset_error, gain_error, covariance = found
    residuals = true - offset - gain * readings
    result = Fit(
        offset=offset,
        gain=gain,
        offset_error=offset_error,
        gain_error=gain_error,
        covariance=covariance,
        chi_square=float(np.sum(weight * residuals**2)),
        freedom=len(points) - (1 if offset_only else 2),
        residuals=tuple(float(r) for r in residuals),
        points=tuple(points),
        offset_only=offset_only,
    )
    _refuse_the_impossible(result)
    return result


def _offset(readings: Values, true: Values, weight: Values) -> tuple[float, float, float, float, float]:
    offset = float(np.sum(weight * (true - readings)) / np.sum(weight))
    return offset, 1.0, float(1 / sqrt(np.sum(weight))), 0.0, 0.0


def _line(readings: Values, true: Values, weight: Values) -> tuple[float, float, float, float, float]:
    """About the weighted mean of the readings, where offset and gain do not hang together."""
    total = float(np.sum(weight))
    middle, level = float(np.sum(weight * readings) / total), float(np.sum(weight * true) / total)
    away = readings - middle
    spread = float(np.sum(weight * away**2))
    gain = float(np.sum(weight * away * (true - level)) / spread)
    gain_error = 1 / sqrt(spread)
    return level - gain * middle, gain, hypot(1 / sqrt(total), middle * gain_error), gain_error, -middle / spread


def _check_points(points: Sequence[Point]) -> None:
    if not 1 <= len(points) <= MOST_POINTS:
        raise ValueError(f"points must be 1 to {MOST_POINTS}, got {len(points)}")
    for name in ("reading", "true", "uncertainty"):
        values = np.array([getattr(p, name) for p in points])
        if np.isnan(values).any():
            raise ValueError(f"{name} of every point must be a number, got nan")
        if name == "uncertainty":
            above_zero(name, values, 50.0, "%RH")
        else:
            within(name, values, 0.0, 119.0, "%RH")


def _refuse_the_impossible(found: Fit) -> None:
    if not LOWEST_GAIN <= found.gain <= HIGHEST_GAIN:
        raise EntryRefused(
            "points",
            f"The gain would be {found.gain:.2f}, it must be {LOWEST_GAIN:g} to {HIGHEST_GAIN:g}: one of the jars held "
            "another salt or was not settled, or the probe is worn out.",
        )
    for point, residual in zip(found.points, found.residuals, strict=True):
        correction = point.true - residual - point.reading
        if abs(correction) > LARGEST_CORRECTION_PCT:
            raise EntryRefused(
                "points",
                f"The probe reads {point.reading:.1f} %RH where {point.true:.1f} is true, more than "
                f"{LARGEST_CORRECTION_PCT:g} points off: the wrong salt, an open jar, or a worn-out probe.",
            )
