"""Numbers and times as the household reads them."""

from datetime import datetime, timedelta

import pytest

from collector.notify.household import (
    Household,
    clock_time,
    duration,
    load_household,
    moment,
    number,
    stretch,
    suggested,
    temperature,
)
from tests.collector.notify.builders import NOON, House

BERLIN = Household("Europe/Berlin")
DENVER = Household("America/Denver", "F", "month-day")
ISO = Household("Asia/Tokyo", "C", "year-month-day")


def test_reads_what_the_dashboard_keeps(house: House) -> None:
    house.set("household.time_zone", "Europe/Berlin")
    house.set("household.base_address", "https://cave.home.arpa")
    house.set("household.weight_unit", "lb")
    with house.records.connect() as connection:
        assert load_household(connection) == Household("Europe/Berlin", "C", "day-month", "https://cave.home.arpa")


def test_what_cannot_be_understood_is_as_the_machine_suggests(house: House, monkeypatch: pytest.MonkeyPatch) -> None:
    house.set("household.time_zone", "Moon/Crater")
    house.set("household.temperature_unit", "K")
    monkeypatch.setattr("collector.notify.household.get_localzone_name", lambda: "America/Chicago")
    with house.records.connect() as connection:
        found = load_household(connection)
    assert (found.time_zone, found.temperature_unit) == ("America/Chicago", "F")


@pytest.mark.parametrize("zone", ["", "Moon/Crater", "../etc/passwd", "a\0b"])
def test_an_unknown_zone_counts_as_utc(zone: str) -> None:
    assert suggested(zone) == Household("UTC")


@pytest.mark.parametrize(
    ("home", "at", "says"),
    [
        (BERLIN, "2026-03-12T12:00+00:00", "13:00"),
        (BERLIN, "2026-03-11T22:30+00:00", "yesterday 23:30"),
        (BERLIN, "2026-03-01T12:00+00:00", "1 March 13:00"),
        (BERLIN, "2025-12-31T12:00+00:00", "31 December 2025 13:00"),
        (DENVER, "2026-03-12T06:05+00:00", "12:05 am"),
        (DENVER, "2025-12-31T20:00+00:00", "December 31, 2025 1:00 pm"),
        (ISO, "2026-03-01T12:00+00:00", "2026-03-01 21:00"),
    ],
)
def test_a_time_is_told_as_one_says_it_on_that_day(home: Household, at: str, says: str) -> None:
    assert moment(datetime.fromisoformat(at), NOON + timedelta(hours=6), home) == says


def test_the_wall_clock_counts_when_clocks_are_set() -> None:
    # tz database: Europe/Berlin goes from UTC+1 to UTC+2 on 29 March 2026 at 01:00 UTC.
    before, after = (datetime.fromisoformat(f"2026-03-29T0{hour}:30+00:00") for hour in (0, 1))
    assert (clock_time(before, BERLIN), clock_time(after, BERLIN)) == ("01:30", "03:30")


def test_a_stretch_names_the_day_of_its_end_only_where_it_differs() -> None:
    night = datetime.fromisoformat("2026-03-11T22:10+00:00")
    assert stretch(NOON, NOON + timedelta(hours=1), NOON, BERLIN) == "13:00 to 14:00"
    assert stretch(night, NOON, NOON, BERLIN) == "yesterday 23:10 to 13:00"


@pytest.mark.parametrize(
    ("seconds", "says"),
    [(0, "1 min"), (29, "1 min"), (3_600, "1 h"), (7_800, "2 h 10 min"), (93_600, "1 day 2 h"), (1e6, "11 days 13 h"),
     (float("nan"), "unknown time"), (float("inf"), "unknown time")],
)  # fmt: skip
def test_a_length_of_time_has_two_parts(seconds: float, says: str) -> None:
    assert duration(seconds) == says


@pytest.mark.parametrize(("value", "says"), [(-0.04, "0.0"), (-3.25, "−3.2"), (9.75, "9.8")])
def test_a_number_has_a_true_minus_and_no_minus_zero(value: float, says: str) -> None:
    assert number(value, 1) == says


def test_a_temperature_is_in_the_households_unit() -> None:
    # 0 degC = 32 degF, NIST SP 811 appendix B.8.
    assert (temperature(0, BERLIN), temperature(0, DENVER)) == ("0.0 °C", "32.0 °F")


def test_messages_read_like_the_pages_do() -> None:
    """The dashboard has its own words for its pages; both must say the same thing the same way."""
    from dashboard import words
    from dashboard.household import Household as Pages

    page = Pages(time_zone="Europe/Berlin")
    at, now = NOON - timedelta(days=40), NOON
    assert words.moment(at, now, page) == moment(at, now, BERLIN)
    assert words.duration(7_800) == duration(7_800)
    assert words.temperature(14.84, page) == temperature(14.84, BERLIN)
