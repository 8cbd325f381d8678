"""The reduced air of a place: dew derived before it is averaged, years read like days."""

from pathlib import Path

import numpy as np
import pytest

from collector.moist_air import dew_point_c
from dashboard.charts.air_course import PIECE_MS, air_course
from dashboard.charts.doubtful import doubtful_lines
from dashboard.charts.spans import DAY_MS, linked
from tests.dashboard.charts.caves_drawn import CAVE, cave, facts_of, ms
from tests.dashboard.places_seen import a_message

START = ms("2026-01-01T00:00+00:00")
STEP = 600_000


def a_swinging_month() -> list[object]:
    """A cooler's swing of 6 K and 20 points from step to step, as a bad fridge does."""
    return [a_message("p", START + i * STEP, 12 + 3 * (-1) ** i, 80 + 10 * (-1) ** i) for i in range(30 * 144)]


def test_dew_is_derived_first_and_averaged_afterwards(tmp_path: Path) -> None:
    with cave(tmp_path, a_swinging_month(), facts_of("p")) as reader:  # type: ignore[arg-type]
        found = air_course(reader, CAVE, linked(START, START + 30 * DAY_MS, START + 30 * DAY_MS))
    assert found.bucket_ms == 5 * STEP
    # Each step of ten minutes is one of two airs; a bucket of five holds three of one and two of the other.
    two = np.asarray(dew_point_c([15.0, 9.0], [90.0, 70.0]))
    expected = [(3 * two[0] + 2 * two[1]) / 5, (2 * two[0] + 3 * two[1]) / 5]
    assert found.dew_point.mean[100] in [pytest.approx(value, abs=0.01) for value in expected]
    from_means = float(dew_point_c(found.temperature.mean[100], found.humidity.mean[100]))
    assert abs(from_means - found.dew_point.mean[100]) > 0.05
    assert (found.temperature.low[100], found.temperature.high[100]) == (9.0, 15.0)


def test_years_are_read_in_pieces_that_join_without_a_seam(tmp_path: Path) -> None:
    days = 900
    arrivals = [a_message("p", START + day * DAY_MS, 10 + day % 7, 80) for day in range(days)]
    with cave(tmp_path, arrivals, facts_of("p")) as reader:
        shown = linked(START, START + days * DAY_MS, START + days * DAY_MS)
        found = air_course(reader, CAVE, shown)
    assert shown.length_ms > 2 * PIECE_MS
    assert (np.diff(found.start_ms) == shown.bucket_ms).all()
    assert not np.isnan(found.temperature.mean).any()
    assert np.nanmax(found.temperature.high) == 16


def test_doubtful_readings_are_out_of_the_air_and_in_a_line_of_their_own(tmp_path: Path) -> None:
    arrivals = [a_message("p", START + i * STEP, 12.0 if i < 720 else 30.0, 85.0) for i in range(1440)]
    with cave(tmp_path, arrivals, facts_of("p")) as reader:
        number = next(channel.id for channel in reader.channels() if channel.field == "temperature")
        reader.doubts[number] = [(START + 720 * STEP, START + 2000 * STEP)]
        shown = linked(START, START + 10 * DAY_MS, START + 10 * DAY_MS)
        found, (doubted,) = air_course(reader, CAVE, shown), doubtful_lines(reader, CAVE, shown)
    half = len(found.start_ms) // 2
    assert (found.temperature.mean[:half] == 12.0).all()
    assert np.isnan(found.temperature.mean[half + 1 :]).all()
    assert (found.humidity.mean[half + 1 : -3] == 85.0).all()
    assert (doubted.probe, doubted.role) == ("p", "temperature")
    assert np.isnan(doubted.line.mean[: half - 1]).all()
    assert (doubted.line.mean[half + 1 : -3] == 30.0).all()


def test_a_surface_has_its_line_and_the_room_around_stands_apart(tmp_path: Path) -> None:
    arrivals = [a_message("p", START + i * STEP, 11.0, None) for i in range(144)]
    with cave(tmp_path, arrivals, facts_of("p", site="surface")) as reader:
        found = air_course(reader, CAVE, linked(START, START + DAY_MS, START + DAY_MS))
    assert found.surface is not None
    assert found.surface.mean[10] == 11.0
    assert found.temperature.is_empty
    assert found.other_temperature.is_empty
