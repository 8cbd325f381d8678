"""Readings drawn one by one: broken where time is unknown, doubtful ones apart."""

from pathlib import Path

import numpy as np

from dashboard.charts.raw_lines import MOST_READINGS, raw_dew_point, raw_lines, speaking
from dashboard.charts.spans import DAY_MS, linked
from tests.dashboard.charts.caves_drawn import CAVE, cave, facts_of, ms
from tests.dashboard.places_seen import a_message

START = ms("2026-03-11T00:00+00:00")
DAY = linked(START, START + DAY_MS, START + DAY_MS)
MINUTE = 60_000


def test_a_line_is_broken_where_nothing_was_heard(tmp_path: Path) -> None:
    minutes = [*range(0, 60), *range(120, 180)]
    with cave(tmp_path, [a_message("p", START + m * MINUTE) for m in minutes], facts_of("p")) as reader:
        lines = raw_lines(reader, CAVE, DAY)
    assert lines is not None
    at_ms, value = lines[0].believed()
    (gap,) = np.flatnonzero(np.isnan(value)).tolist()
    # The reading of 00:59 holds for three of its intervals.
    assert (at_ms[gap] - START) // MINUTE == 62
    assert len(at_ms) == 121


def test_doubtful_readings_are_in_one_line_and_not_in_the_other(tmp_path: Path) -> None:
    with cave(tmp_path, [a_message("p", START + m * MINUTE, 12.0, None) for m in range(10)], facts_of("p")) as reader:
        reader.doubts[reader.channels()[0].id] = [(START + 4 * MINUTE, START + 6 * MINUTE)]
        lines = raw_lines(reader, CAVE, DAY)
    assert lines is not None
    assert np.flatnonzero(np.isnan(lines[0].believed()[1])).tolist() == [4, 5]
    assert np.flatnonzero(~np.isnan(lines[0].doubted()[1])).tolist() == [4, 5]


def test_a_number_that_no_air_has_is_doubtful_by_itself(tmp_path: Path) -> None:
    arrivals = [a_message("p", START, 12.0), a_message("p", START + MINUTE, -127.0), a_message("p", START + 2 * MINUTE)]
    with cave(tmp_path, arrivals, facts_of("p")) as reader:
        lines = raw_lines(reader, CAVE, DAY)
    assert lines is not None
    by_role = {line.role: line.doubtful.tolist() for line in lines}
    assert by_role == {"temperature": [False, True, False], "humidity": [False, False, False]}


def test_too_many_readings_are_left_to_the_ten_minute_steps(tmp_path: Path) -> None:
    arrivals = [a_message("p", START + i * 30_000, 12.0, None) for i in range(MOST_READINGS + 10)]
    with cave(tmp_path, arrivals, facts_of("p")) as reader:
        assert raw_lines(reader, CAVE, DAY) is None


def test_the_lead_speaks_or_the_only_probe_and_of_several_none(tmp_path: Path) -> None:
    arrivals = [a_message(p, START + m * MINUTE) for p in ("a", "b") for m in range(10)]
    for lead, expected in ((None, None), ("b", "b")):
        with cave(tmp_path / str(lead), arrivals, facts_of("a", "b", lead=lead)) as reader:
            lines = raw_lines(reader, CAVE, DAY)
            assert lines is not None
            spoken = speaking(reader, CAVE, lines, "temperature", DAY)
        assert (spoken and spoken.probe) == expected
    with cave(tmp_path / "one", arrivals, facts_of("a")) as reader:
        lines = raw_lines(reader, CAVE, DAY)
        assert lines is not None
        spoken = speaking(reader, CAVE, lines, "humidity", DAY)
    assert spoken is not None
    assert spoken.probe == "a"


def test_the_dew_point_is_of_readings_told_together(tmp_path: Path) -> None:
    together = [a_message("p", START + m * MINUTE, 12.0, 88.0) for m in range(10)]
    apart = [a_message("q", START + m * MINUTE + (m % 2), *((12.0, None), (None, 88.0))[m % 2]) for m in range(20)]
    with cave(tmp_path, together + apart, facts_of("p", "q")) as reader:
        lines = raw_lines(reader, CAVE, DAY)
    assert lines is not None
    humid, warm, humid_apart, warm_apart = lines
    found = raw_dew_point(warm, humid)
    assert found is not None
    # Magnus' formula, WMO-No. 8, annex 4.B: 10.07 degC.
    np.testing.assert_allclose(found[1], 10.07, atol=0.03)
    assert raw_dew_point(warm_apart, humid_apart) is None
