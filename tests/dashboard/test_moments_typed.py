"""Moments out of a phone's picker or typed; zones by the time zone data of the standard library."""

from datetime import UTC, datetime, timedelta

import pytest

from collector.errors import EntryRefused
from dashboard.household import Household
from dashboard.moments_typed import for_picker, moment_typed
from tests.dashboard.conftest import NOW_AT

HERE = Household(time_zone="Europe/Zurich")  # one hour ahead of UTC in March


def test_an_empty_field_is_now() -> None:
    assert moment_typed(" ", HERE, NOW_AT, "at") == NOW_AT


def test_the_pickers_form_is_read_in_the_households_zone() -> None:
    assert moment_typed("2026-03-11T08:00", HERE, NOW_AT, "at") == datetime(2026, 3, 11, 7, 0, tzinfo=UTC)


def test_the_picker_gets_back_what_it_sent() -> None:
    assert for_picker(moment_typed("2026-03-11T08:00", HERE, NOW_AT, "at"), HERE) == "2026-03-11T08:00"
    assert for_picker(None, HERE) == ""


def test_words_are_read_too() -> None:
    assert moment_typed("yesterday 8:00", HERE, NOW_AT, "at") == datetime(2026, 3, 11, 7, 0, tzinfo=UTC)


def test_days_are_read_in_the_households_order() -> None:
    us = Household(time_zone="UTC", date_form="month-day")
    assert moment_typed("3/2 8:00", us, NOW_AT, "at") == datetime(2026, 3, 2, 8, 0, tzinfo=UTC)
    assert moment_typed("3/2 8:00", Household(), NOW_AT, "at") == datetime(2026, 2, 3, 8, 0, tzinfo=UTC)


def test_the_future_is_refused_unless_it_is_meant() -> None:
    with pytest.raises(EntryRefused, match="must not be in the future, got 2026-03-13T08:00"):
        moment_typed("2026-03-13T08:00", HERE, NOW_AT, "at")
    assert moment_typed("2026-03-13T08:00", HERE, NOW_AT, "at", ahead=True) > NOW_AT


def test_a_phone_that_is_a_little_ahead_means_now() -> None:
    ahead = for_picker(NOW_AT + timedelta(minutes=3), HERE)
    assert moment_typed(ahead, HERE, NOW_AT, "at") == NOW_AT


def test_what_is_no_time_is_named() -> None:
    with pytest.raises(EntryRefused, match="The time cannot be read as a day, got 'soon'") as refused:
        moment_typed("soon", HERE, NOW_AT, "at")
    assert refused.value.field == "at"
