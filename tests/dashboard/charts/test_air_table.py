"""The numbers under a chart, worked by hand."""

from datetime import UTC, datetime
from pathlib import Path

import pytest

from dashboard.charts.air_course import AirCourse, air_course
from dashboard.charts.air_table import air_rows, columns, period_of, when
from dashboard.charts.spans import DAY_MS, HOUR_MS, Window, linked
from dashboard.household import Household
from tests.dashboard.charts.caves_drawn import CAVE, cave, facts_of, ms
from tests.dashboard.places_seen import a_message

ZURICH = Household(time_zone="Europe/Zurich")
STEP = 600_000
FAR = ms("2027-06-01T00:00+00:00")


def course(folder: Path, shown: Window, every_min: int = 10, skip: tuple[int, int] = (0, 0)) -> AirCourse:
    """Air that gets a degree warmer each day; some of the messages left out."""
    times = range(shown.from_ms, shown.to_ms, every_min * 60_000)
    arrivals = [
        a_message("p", at, 10.0 + (at - shown.from_ms) // DAY_MS, 88.0)
        for i, at in enumerate(times)
        if not skip[0] <= i < skip[1]
    ]
    with cave(folder, arrivals, facts_of("p")) as reader:
        return air_course(reader, CAVE, shown)


def test_a_week_is_told_day_by_day_the_newest_first(tmp_path: Path) -> None:
    start = ms("2026-03-08T23:00+00:00")  # midnight in Zurich
    shown = linked(start, start + 7 * DAY_MS, FAR)
    rows = air_rows(course(tmp_path, shown), shown, ZURICH)
    assert [row.when for row in rows[:2]] == ["15 March", "14 March"]
    assert len(rows) == 7
    assert (rows[-1].temperature, rows[-1].humidity) == ("10.0 (10.0 to 10.0)", "88 (88 to 88)")
    # Magnus' formula, WMO-No. 8, annex 4.B, for 10 degC and 88 %: 8.10 degC.
    assert rows[-1].dew_point == "8.1"
    assert rows[-1].unknown == ""


def test_unknown_time_is_told(tmp_path: Path) -> None:
    start = ms("2026-03-08T23:00+00:00")
    shown = linked(start, start + 3 * DAY_MS, FAR)
    rows = air_rows(course(tmp_path, shown, skip=(36, 72)), shown, ZURICH)
    # Six hours without a message, of which the last one before speaks for half an hour.
    assert rows[-1].unknown == "5 h 40 min"


def test_a_day_without_a_message_stands_there_but_not_what_was_before_the_first(tmp_path: Path) -> None:
    start = ms("2026-03-08T23:00+00:00")
    shown = linked(start, start + 4 * DAY_MS, FAR)
    rows = air_rows(course(tmp_path, shown, skip=(0, 145)), shown, ZURICH)
    assert [row.when for row in rows] == ["12 March", "11 March", "10 March"]
    rows = air_rows(course(tmp_path / "b", shown, skip=(144 + 4, 3 * 144)), shown, ZURICH)
    assert [(row.when, row.temperature) for row in rows[1:2]] == [("11 March", "")]
    assert rows[1].unknown == "1 day"


def test_the_repeated_hour_of_october_is_two_rows(tmp_path: Path) -> None:
    """2026-10-25 at 01:00 UTC (directive 2000/84/EC)."""
    start = ms("2026-10-24T22:00+00:00")
    shown = linked(start, start + 6 * HOUR_MS, FAR)
    rows = air_rows(course(tmp_path, shown), shown, ZURICH)
    assert [row.when for row in rows[::-1]] == [
        "25 October 00:00", "25 October 01:00", "25 October 02:00", "25 October 02:00 again", "25 October 03:00",
        "25 October 04:00",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("length_ms", "period"),
    [(HOUR_MS, "step"), (DAY_MS, "hour"), (7 * DAY_MS, "day"), (30 * DAY_MS, "day"), (91 * DAY_MS, "week"),
     (365 * DAY_MS, "month"), (3650 * DAY_MS, "year")],
)  # fmt: skip
def test_every_span_has_a_table_that_can_be_read(length_ms: int, period: str) -> None:
    assert period_of(linked(FAR - length_ms, FAR, FAR)) == period


@pytest.mark.parametrize(
    ("period", "said"),
    [
        ("hour", "12 March 15:10"),
        ("day", "12 March"),
        ("week", "week of 9 March"),
        ("month", "March 2026"),
        ("year", "2026"),
    ],
)
def test_periods_are_called_as_a_person_does(period: str, said: str) -> None:
    assert when(datetime(2026, 3, 12, 14, 10, tzinfo=UTC), period, ZURICH) == said  # type: ignore[arg-type]


def test_the_heads_name_the_units() -> None:
    assert columns(Household(time_zone="UTC", temperature_unit="F"))[1] == "Temperature °F"
