"""Quiet hours, snoozes, how often, and who is next. The numbers are the project's own promise; no outside source."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collector.notify.holding import (
    DAY,
    HOUR,
    MOST_A_DAY,
    MOST_AN_HOUR,
    QuietHours,
    Snooze,
    Wishes,
    again_at,
    free_at,
    held_until,
    next_in_line,
    quiet_until,
    snoozed_until,
)
from tests.collector.notify.builders import NOON, a_warning

BERLIN = ZoneInfo("Europe/Berlin")
NIGHT = QuietHours(22 * 60, 7 * 60)


def at(text: str) -> datetime:
    return datetime.fromisoformat(text).astimezone(UTC)


@pytest.mark.parametrize(
    ("now", "until"),
    [
        ("2026-03-12T21:59+01:00", None),
        ("2026-03-12T22:00+01:00", "2026-03-13T07:00+01:00"),
        ("2026-03-13T06:59+01:00", "2026-03-13T07:00+01:00"),
        ("2026-03-13T07:00+01:00", None),
        # The night in which clocks go forward is an hour shorter, and the one in which they go back longer; by the
        # tz database, Europe/Berlin 2026: 29 March and 25 October.
        ("2026-03-28T23:00+01:00", "2026-03-29T07:00+02:00"),
        ("2026-10-24T23:00+02:00", "2026-10-25T07:00+01:00"),
    ],
)
def test_quiet_hours_go_by_the_wall_clock(now: str, until: str | None) -> None:
    assert quiet_until(at(now), NIGHT, BERLIN) == (None if until is None else at(until))


def test_quiet_hours_within_a_day_end_on_that_day() -> None:
    nap = QuietHours(13 * 60, 15 * 60)
    assert quiet_until(at("2026-03-12T14:00+01:00"), nap, BERLIN) == at("2026-03-12T15:00+01:00")
    assert quiet_until(at("2026-03-12T15:00+01:00"), nap, BERLIN) is None


def test_the_same_beginning_and_end_are_no_quiet_hours() -> None:
    assert quiet_until(NOON, QuietHours(60, 60), BERLIN) is None


@given(
    minutes=st.integers(0, 3 * 366 * 1_440),
    start=st.integers(0, 1_439),
    end=st.integers(0, 1_439),
    zone=st.sampled_from(["UTC", "Europe/Berlin", "America/Denver", "Australia/Lord_Howe", "Asia/Kathmandu"]),
)
def test_quiet_hours_end_in_the_future_and_within_a_day_and_an_hour(
    minutes: int, start: int, end: int, zone: str
) -> None:
    now = datetime(2025, 1, 1, tzinfo=UTC) + timedelta(minutes=minutes)
    until = quiet_until(now, QuietHours(start, end), ZoneInfo(zone))
    if until is not None:
        assert timedelta(0) < until - now <= timedelta(hours=25)


@pytest.mark.parametrize(
    ("snooze", "covers"),
    [
        (Snooze(NOON + HOUR), True),
        (Snooze(NOON), False),
        (Snooze(NOON + HOUR, rule="too_warm", place_id="lower"), True),
        (Snooze(NOON + HOUR, rule="too_damp"), False),
        (Snooze(NOON + HOUR, place_id="cellar"), False),
        (Snooze(NOON + HOUR, person_id="me"), True),
        (Snooze(NOON + HOUR, person_id="you"), False),
    ],
)
def test_a_snooze_covers_what_it_names_until_its_end(snooze: Snooze, covers: bool) -> None:
    assert snoozed_until(a_warning(), "me", [snooze], NOON) == (snooze.until_at if covers else None)


def test_urgent_ones_pass_quiet_hours_unless_told_otherwise() -> None:
    night = at("2026-03-12T23:00+01:00")
    wishes = Wishes("me", NIGHT)
    assert held_until("warn", [a_warning()], wishes, BERLIN, night) == at("2026-03-13T07:00+01:00")
    assert held_until("urgent", [a_warning()], wishes, BERLIN, night) is None
    deaf = Wishes("me", QuietHours(22 * 60, 7 * 60, urgent_passes=False))
    assert held_until("urgent", [a_warning()], deaf, BERLIN, night) == at("2026-03-13T07:00+01:00")


def test_a_message_waits_for_a_snooze_only_when_all_of_it_is_snoozed() -> None:
    wishes = Wishes("me", None, (Snooze(NOON + HOUR, rule="too_warm"),))
    assert held_until("warn", [a_warning()], wishes, BERLIN, NOON) == NOON + HOUR
    assert held_until("warn", [a_warning(), a_warning("too_damp")], wishes, BERLIN, NOON) is None


@pytest.mark.parametrize(("told", "hours"), [(0, 0), (1, 1), (2, 2), (3, 4), (4, 8)])
def test_a_problem_that_came_back_waits_longer_each_time(told: int, hours: int) -> None:
    earlier = [NOON - timedelta(minutes=told - n) for n in range(told)]
    expected = NOON if not earlier else earlier[-1] + timedelta(hours=hours)
    assert again_at(earlier, NOON) == expected


def test_what_was_told_a_day_ago_counts_no_more() -> None:
    assert again_at([NOON - DAY], NOON) == NOON


def test_what_seems_told_in_the_future_counts_not() -> None:
    """The clock was ahead when it was noted, and has been set back since."""
    future = [NOON + timedelta(days=400, minutes=n) for n in range(MOST_A_DAY)]
    assert again_at(future, NOON) == NOON
    assert free_at(future, "warn", NOON) == NOON


@given(st.lists(st.integers(0, 3 * 1_440), max_size=300))
def test_of_one_problem_at_most_five_warnings_go_in_any_day(minutes: list[int]) -> None:
    told: list[datetime] = []
    for minute in sorted(minutes):
        now = NOON + timedelta(minutes=minute)
        if again_at(told, now) <= now:
            told.append(now)
    assert all(sum(one <= other < one + DAY for other in told) <= 5 for one in told)


@given(st.lists(st.tuples(st.integers(0, 3 * 1_440), st.sampled_from(["warn", "urgent"])), max_size=400))
def test_a_channel_never_carries_more_than_promised(wanted: list[tuple[int, str]]) -> None:
    sent: list[datetime] = []
    for minute, severity in sorted(wanted):
        now = NOON + timedelta(minutes=minute)
        if free_at(sent, severity, now) <= now:
            sent.append(now)
    for one in sent:
        assert sum(one <= other < one + HOUR for other in sent) <= MOST_AN_HOUR
        assert sum(one <= other < one + DAY for other in sent) <= MOST_A_DAY


def test_the_last_places_are_kept_for_urgent_ones() -> None:
    sent = [NOON - timedelta(minutes=n) for n in range(MOST_AN_HOUR - 1)]
    assert free_at(sent, "warn", NOON) > NOON
    assert free_at(sent, "urgent", NOON) == NOON


def test_what_waits_for_room_goes_when_there_is_room() -> None:
    sent = [NOON - timedelta(minutes=n) for n in range(MOST_AN_HOUR)]
    free = free_at(sent, "urgent", NOON)
    assert free_at(sent, "urgent", free) == free


@pytest.mark.parametrize(
    ("order", "told", "seen", "who"),
    [
        (["a", "b"], {"a": 61}, None, "b"),
        (["a", "b"], {"a": 59}, None, None),
        (["a", "b"], {"a": 61}, 5, None),
        (["a", "b"], {"a": 200, "b": 61}, None, None),
        (["a", "b", "c"], {"a": 200, "b": 61}, None, "c"),
        (["a", "b", "c"], {"a": 200, "b": 30}, None, None),
        (["a", "b"], {}, None, None),
    ],
)
def test_the_next_is_told_after_an_unseen_hour(
    order: list[str], told: dict[str, int], seen: int | None, who: str | None
) -> None:
    told_at = {person: NOON - timedelta(minutes=ago) for person, ago in told.items()}
    seen_at = None if seen is None else NOON - timedelta(minutes=seen)
    assert next_in_line(order, told_at, seen_at, NOON) == who
