"""How sure a checked humidity is: at its own value, and less so with time."""

from datetime import UTC, datetime

import numpy as np
import pytest

from collector.air.channel import Piece, uncertainties
from collector.calibration.history import NEW_SENSOR
from collector.calibration.in_use import in_use_uncertainty_pct
from collector.instants import to_ms
from collector.readings.model import Channel
from collector.records.facts import Calibration

MADE_AT = datetime(2026, 3, 2, tzinfo=UTC)
DAY_MS = 86_400_000
CHANNEL = Channel(1, "cellar-1", "humidity", "humidity", "%RH", 0)
POINT = ((74.16, 75.66, 0.73, 12.0),)


def piece(method: str = "salt", points: tuple[tuple[float, ...], ...] = POINT, quantity: str = "humidity") -> Piece:
    long_ago = datetime(2025, 1, 1, tzinfo=UTC)
    check = Calibration("a", long_ago, MADE_AT, "cellar-1", "humidity", 1.5, 1.0, 1.2, method, points)
    return Piece(0, 2**60, quantity, "%RH", check, None)


def sure(of: Piece, value: float, age_d: float = 0) -> float:
    at_ms = np.array([to_ms(MADE_AT) + int(age_d * DAY_MS)])
    return float(uncertainties(CHANNEL, of, np.array([value]), at_ms)[0])


def test_it_is_that_of_the_point_and_of_use() -> None:
    # At the point itself the fit knows what the point knew; the rest is in_use, tested against its own sources.
    assert sure(piece(), 75.66) == pytest.approx(float(in_use_uncertainty_pct(0.73, 75.66, 0.0)))


def test_far_from_the_only_point_it_is_less_sure() -> None:
    # 0.125 of the 14.34 points between them, the growth that fit documents, beside the point's own 0.73.
    apart = float(np.hypot(0.73, 0.125 * (90 - 75.66)))
    assert sure(piece(), 90.0) == pytest.approx(float(in_use_uncertainty_pct(apart, 90.0, 0.0)))


def test_it_ages_from_the_day_it_was_made_both_ways() -> None:
    assert sure(piece(), 85.0, 200) > sure(piece(), 85.0)
    assert sure(piece(), 85.0, -200) == sure(piece(), 85.0, 200)


def test_a_new_sensor_and_other_quantities_keep_their_one_number() -> None:
    assert sure(piece(NEW_SENSOR, ()), 85.0) == 1.2
    assert sure(piece(quantity="temperature"), 11.0) == 1.2


def test_a_gap_stays_a_gap_and_what_lies_outside_is_borne() -> None:
    assert np.isnan(sure(piece(), float("nan")))
    assert sure(piece(), 130.0) > 0
