"""Words for numbers and times, in each household's way."""

from datetime import UTC, date, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dashboard import words
from dashboard.household import Household

HERE = Household(time_zone="Europe/Zurich")
US = Household(time_zone="America/Chicago", temperature_unit="F", weight_unit="lb", date_form="month-day")
PLAIN = Household(time_zone="Asia/Tokyo", date_form="year-month-day")
NOW_AT = datetime(2026, 3, 12, 14, 10, tzinfo=UTC)
NAN = float("nan")


# 54 F, 12.2 C and 32 F, 0 C and -40 of both: NIST SP 811 (2008), B.8: t/F = 1.8 t/C + 32.
@pytest.mark.parametrize(
    ("value_c", "celsius", "fahrenheit"),
    [
        (12.22, "12.2 °C", "54.0 °F"),
        (0, "0.0 °C", "32.0 °F"),
        (-40, "−40.0 °C", "−40.0 °F"),
        (-0.01, "0.0 °C", "32.0 °F"),
    ],
)
def test_a_temperature_comes_in_the_households_unit(value_c: float, celsius: str, fahrenheit: str) -> None:
    assert words.temperature(value_c, HERE) == celsius
    assert words.temperature(value_c, US) == fahrenheit


def test_a_difference_has_no_zero_point() -> None:
    assert words.temperature_step(2.0, US) == "3.6 °F"
    assert words.temperature_step(-2.0, HERE, digits=0) == "−2 °C"


def test_a_form_field_gets_a_bare_number() -> None:
    assert words.temperature_number(-1.5, HERE) == "-1.5"
    assert words.temperature_number(None, HERE) == ""


@pytest.mark.parametrize("gap", [None, NAN])
def test_a_gap_is_a_dash(gap: float | None) -> None:
    shown = {words.temperature(gap, HERE), words.humidity(gap, HERE, 3), words.weight(gap, US), words.duration(gap)}
    assert shown == {"–"}


def test_a_humidity_says_how_sure_it_is_and_since_when() -> None:
    assert words.humidity(87.4, HERE) == "87 %"
    assert words.humidity(87.4, HERE, 3) == "87 % ± 3, not checked yet"
    assert words.humidity(87.4, HERE, 3, date(2026, 3, 12)) == "87 % ± 3, checked 12 March"
    assert words.humidity(87.4, US, 3, date(2026, 3, 12)) == "87 % ± 3, checked March 12"


# One avoirdupois pound is exactly 0.45359237 kg: NIST Handbook 44 (2024), appendix C.
@pytest.mark.parametrize(
    ("value_g", "metric", "pounds"),
    [
        (453.59237, "454 g", "1 lb 0 oz"),
        (3231.85, "3.23 kg", "7 lb 2 oz"),
        (999.4, "999 g", "2 lb 3.3 oz"),
        (999.5, "1.00 kg", "2 lb 3.3 oz"),
        (100, "100 g", "3.5 oz"),
        (453.5, "454 g", "1 lb 0 oz"),
        (-100, "−100 g", "−3.5 oz"),
    ],
)
def test_a_weight_comes_in_the_households_unit(value_g: float, metric: str, pounds: str) -> None:
    assert words.weight(value_g, HERE) == metric
    assert words.weight(value_g, US) == pounds


def test_times_are_told_in_the_households_zone_and_form() -> None:
    assert [words.clock_time(NOW_AT, h) for h in (HERE, US, PLAIN)] == ["15:10", "9:10 am", "23:10"]
    assert [words.long_date(NOW_AT, h) for h in (HERE, US, PLAIN)] == ["12 March 2026", "March 12, 2026", "2026-03-12"]
    assert [words.short_date(NOW_AT, h) for h in (HERE, US, PLAIN)] == ["12 March", "March 12", "03-12"]


@pytest.mark.parametrize(("hour", "expected"), [(5, "12:00 am"), (17, "12:00 pm"), (18, "1:00 pm")])
def test_noon_and_midnight_are_twelve(hour: int, expected: str) -> None:
    assert words.clock_time(datetime(2026, 7, 1, hour, tzinfo=UTC), US) == expected


def test_a_moment_leaves_out_what_is_plain() -> None:
    def back(**by: float) -> str:
        return words.moment(NOW_AT - timedelta(**by), NOW_AT, HERE)

    assert back(hours=2) == "13:10"
    assert back(days=1) == "yesterday 15:10"
    assert back(days=2) == "10 March 15:10"
    assert back(days=365) == "12 March 2025 15:10"


def test_yesterday_is_the_households_yesterday() -> None:
    """At 23:10 in Tokyo, 15:30 UTC of the day before is already today there."""
    assert words.moment(datetime(2026, 3, 11, 15, 30, tzinfo=UTC), NOW_AT, PLAIN) == "00:30"


@pytest.mark.parametrize(
    ("seconds", "span", "past"),
    [
        (20, "less than a minute", "just now"),
        (130, "2 min", "2 min ago"),
        (7_800, "2 h 10 min", "2 h ago"),
        (86_400, "1 day", "1 day ago"),
        (273_600, "3 days 4 h", "3 days ago"),
        (3_599, "1 h", "59 min ago"),
    ],
)
def test_spans_are_told_in_their_largest_parts(seconds: int, span: str, past: str) -> None:
    assert words.duration(seconds) == span
    assert words.ago(NOW_AT - timedelta(seconds=seconds), NOW_AT) == past


def test_what_is_to_come_and_what_never_was() -> None:
    assert words.ago(NOW_AT + timedelta(minutes=5), NOW_AT) == "in 5 min"
    assert words.ago(None, NOW_AT) == "never"


@given(st.floats(allow_infinity=False), st.sampled_from([HERE, US, PLAIN]))
def test_no_number_breaks_a_page(value: float, household: Household) -> None:
    for word in (words.temperature, words.temperature_step, words.weight, words.humidity):
        assert word(value, household)
