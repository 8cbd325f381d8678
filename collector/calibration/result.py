"""A check as it is kept, and back from what was kept to what it is good for at any humidity; pure.

The fields map one to one onto `collector.records.facts.Calibration`. There `uncertainty` is one number, that at the
humidity of the place; the points are kept beside it, and from them `uncertainty_at` gives it for every reading.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import isnan

import numpy as np

from collector.calibration.fit import Fit, Point, fit
from collector.calibration.side_by_side import Comparison
from collector.readings.model import Values

SALT = "salt"
SIDE_BY_SIDE = "side_by_side"
HAND = "hand"  # offset and gain typed in by a person who has them from elsewhere

Kept = tuple[tuple[float, ...], ...]


@dataclass(frozen=True, slots=True)
class Result:
    """True = offset + gain * reading, in the quantity's canonical unit; uncertainty is a standard one (k = 1)."""

    offset: float
    gain: float
    uncertainty: float
    method: str
    points: Kept


def kept(points: Sequence[Point]) -> Kept:
    """Points as they are kept: (reading, true, uncertainty) and the temperature where it is known."""
    rows = []
    for p in points:
        row = (p.reading, p.true, p.uncertainty)
        rows.append(row if isnan(p.temperature_c) else (*row, p.temperature_c))
    return tuple(rows)


def points_of(rows: Kept) -> tuple[Point, ...]:
    """Points from what was kept.

    Raises:
        ValueError: a row that has not three or four numbers.
    """
    for row in rows:
        if len(row) not in (3, 4):
            raise ValueError(f"points must be rows of 3 or 4 numbers, got {len(row)}")
    return tuple(Point(*row) for row in rows)


def result_of(found: Fit, method: str, true_pct: float) -> Result:
    """A fit as it is kept.

    Args:
        found: of a humidity probe.
        method: SALT or SIDE_BY_SIDE.
        true_pct: the humidity at which the place lives [%RH], for the one uncertainty that is kept.
    """
    reading = (true_pct - found.offset) / found.gain
    return Result(found.offset, found.gain, float(found.uncertainty(reading)), method, kept(found.points))


def result_of_comparison(quantity: str, found: Comparison, true_pct: float) -> Result:
    """A stay side by side as it is kept.

    Args:
        quantity: of the channel.
        found: the comparison.
        true_pct: for a humidity, that at which the place lives [%RH].
    Raises:
        ValueError: something is still missing in the comparison.
        EntryRefused: a humidity that is further off than a probe that works can be.
    """
    if found.missing:
        raise ValueError(f"the comparison must be complete, got missing {', '.join(found.missing)}")
    if quantity == "humidity":
        return result_of(fit([found.point]), SIDE_BY_SIDE, true_pct)
    return Result(found.offset, 1.0, found.uncertainty, SIDE_BY_SIDE, kept([found.point]))


def uncertainty_at(points: Kept, uncertainty: float, reading: float | Values) -> Values:
    """Standard uncertainty of a corrected humidity from what was kept of a check.

    Args:
        points: of the calibration; empty when it was typed in.
        uncertainty: the one number that was kept [%RH]; used when there are no points.
        reading: of the probe, uncalibrated [%RH], scalar or array.
    Returns:
        Same shape [%RH].
    Raises:
        ValueError: rows that are no points.
    Source: `collector.calibration.fit.Fit.uncertainty`.
    """
    if not points:
        return np.full(np.shape(reading), uncertainty)
    return fit(points_of(points)).uncertainty(reading)
