from dataclasses import asdict, fields
from datetime import UTC, datetime

import numpy as np
import pytest

from collector.calibration.fit import Point, fit
from collector.calibration.result import (
    HAND,
    SALT,
    SIDE_BY_SIDE,
    Result,
    kept,
    points_of,
    result_of,
    result_of_comparison,
    uncertainty_at,
)
from collector.calibration.side_by_side import compare
from collector.records.facts import Calibration

TWO_SALTS = (Point(74.0, 75.66, 0.75, 12.1), Point(95.1, 98.07, 1.1))


def test_a_result_is_a_calibration_of_the_records() -> None:
    result = result_of(fit(TWO_SALTS), SALT, 90.0)
    at = datetime(2026, 3, 12, tzinfo=UTC)
    record = Calibration(
        "id", at, at, probe="lower", field="rh", **{f.name: getattr(result, f.name) for f in fields(Result)}
    )
    assert record.points == ((74.0, 75.66, 0.75, 12.1), (95.1, 98.07, 1.1))
    assert (record.method, record.gain) == ("salt", pytest.approx((98.07 - 75.66) / (95.1 - 74.0)))
    assert set(asdict(result)) <= {f.name for f in fields(Calibration)}


def test_the_uncertainty_of_every_reading_comes_back_from_what_was_kept() -> None:
    found = fit(TWO_SALTS)
    result = result_of(found, SALT, 90.0)
    readings = np.array([60.0, 75.0, 90.0, 99.0])
    np.testing.assert_allclose(uncertainty_at(result.points, result.uncertainty, readings), found.uncertainty(readings))
    assert result.uncertainty == pytest.approx(float(found.uncertainty((90.0 - found.offset) / found.gain)))


def test_what_was_typed_in_by_hand_has_one_uncertainty() -> None:
    typed = Result(1.5, 1.0, 1.2, HAND, ())
    assert uncertainty_at(typed.points, typed.uncertainty, np.array([50.0, 90.0])).tolist() == [1.2, 1.2]


def test_points_survive_being_kept() -> None:
    again = points_of(kept(TWO_SALTS))
    assert again[0] == TWO_SALTS[0]
    assert (again[1].reading, again[1].true, again[1].uncertainty) == (95.1, 98.07, 1.1)
    with pytest.raises(ValueError, match="rows of 3 or 4 numbers, got 2"):
        points_of(((1.0, 2.0),))


def test_a_stay_side_by_side_becomes_an_offset() -> None:
    true = 88 + np.sin(np.arange(60.0))
    result = result_of_comparison("humidity", compare("humidity", true - 2, true, 0.8), 88.0)
    assert (result.method, result.gain, result.offset) == (SIDE_BY_SIDE, 1.0, pytest.approx(2.0))
    assert result.uncertainty == pytest.approx(np.hypot(0.8, 0.5), abs=0.2)
    cold = result_of_comparison("temperature", compare("temperature", np.full(60, -3.2), np.full(60, -3.0), 0.1), 88.0)
    assert (cold.offset, cold.uncertainty) == (pytest.approx(0.2), pytest.approx(np.hypot(0.1, 0.1)))


def test_an_unfinished_stay_is_refused() -> None:
    true = 88 + np.sin(np.arange(10.0))
    with pytest.raises(ValueError, match="must be complete, got missing time"):
        result_of_comparison("humidity", compare("humidity", true, true, 0.8), 88.0)
