"""Ripening windows and by when to make: days counted on the calendar, leap years too."""

from datetime import date, timedelta

from hypothesis import given
from hypothesis import strategies as st

from dashboard.wheels.ripening import Window, make_between, on_strip, window

DAYS = st.dates(date(2000, 1, 1), date(2100, 1, 1))
AGES = st.integers(0, 3_000)


def test_a_window_counts_days_across_a_leap_day() -> None:
    assert window(date(2028, 1, 31), 30, 60) == Window(date(2028, 3, 1), date(2028, 3, 31))


def test_without_a_day_or_a_window_nothing_is_said() -> None:
    assert window(None, 30, 60) is None
    assert window(date(2026, 1, 1), None, 60) is None
    assert make_between(date(2026, 12, 15), None, None) is None


def test_for_15_december_a_tomme_of_60_to_180_days_is_made_between_mid_june_and_mid_october() -> None:
    assert make_between(date(2026, 12, 15), 60, 180) == (date(2026, 6, 18), date(2026, 10, 16))
    assert make_between(date(2026, 12, 15), 60, None) == (None, date(2026, 10, 16))


@given(DAYS, AGES, AGES)
def test_what_is_made_in_time_is_ripe_on_the_day(day: date, from_d: int, length_d: int) -> None:
    found = make_between(day, from_d, from_d + length_d)
    assert found is not None
    earliest, latest = found
    for made_on in (earliest, latest):
        own = window(made_on, from_d, from_d + length_d)
        assert own is not None
        assert own.holds(day)
    too_late = window(latest + timedelta(days=1), from_d, from_d + length_d)
    assert too_late is not None
    assert not too_late.holds(day)


def test_a_window_is_cut_to_the_strip() -> None:
    begin = date(2026, 1, 1)
    assert on_strip(date(2025, 12, 1), date(2026, 1, 10), begin, 100) == (0.0, 0.1)
    assert on_strip(date(2026, 3, 2), None, begin, 100) == (0.6, 0.4)
    assert on_strip(date(2025, 12, 1), date(2025, 12, 31), begin, 100) is None
    assert on_strip(date(2026, 6, 1), None, begin, 100) is None
