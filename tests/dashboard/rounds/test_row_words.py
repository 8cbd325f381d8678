"""What stands on a wheel's line: age, what is late, what was done today."""

from datetime import UTC, date, datetime, timedelta

import pytest

from dashboard.household import Household
from dashboard.rounds.row_words import age_words, done_today, due_marks
from dashboard.wheels.care_plan import Due

HOUSE = Household()
NOW_AT = datetime(2026, 3, 12, 14, 10, tzinfo=UTC)
TODAY = NOW_AT.date()


@pytest.mark.parametrize(
    ("age_d", "said"), [(None, ""), (0, "0 days"), (1, "1 day"), (99, "99 days"), (100, "3 months"), (365, "11 months")]
)
def test_an_age_is_said_as_one_says_it_of_a_cheese(age_d: int | None, said: str) -> None:
    assert age_words(age_d) == said


def test_what_is_due_says_how_late_and_what_is_to_come_says_nothing() -> None:
    due = [
        Due("turned", TODAY - timedelta(days=3), 7, 1),
        Due("brushed", TODAY, 7, 0),
        Due("weighed", TODAY + timedelta(days=1), 14, 0),
    ]
    marks = due_marks(due, TODAY, {})
    assert [(mark.word, mark.when, mark.overdue) for mark in marks] == [
        ("turned", "3 days late", True), ("brushed", "today", False),
    ]  # fmt: skip


def test_what_was_done_today_has_its_time_and_a_clean_look_is_said_with_its_care() -> None:
    at = NOW_AT - timedelta(hours=6)
    last = {
        "begun": at, "turned": at, "looked": at, "clean": at, "weighed": NOW_AT - timedelta(hours=1),
        "brushed": NOW_AT - timedelta(days=1), "left:turned": NOW_AT,
    }  # fmt: skip
    assert done_today(last, NOW_AT, HOUSE, {}) == ["turned, nothing new 08:10", "weighed 13:10"]


def test_a_look_by_itself_is_said() -> None:
    assert done_today({"looked": NOW_AT, "clean": NOW_AT}, NOW_AT, HOUSE, {}) == ["looked at, nothing new 14:10"]
    assert done_today({"looked": NOW_AT}, NOW_AT, HOUSE, {}) == ["looked at 14:10"]


def test_the_households_day_counts() -> None:
    auckland = Household(time_zone="Pacific/Auckland")  # 13 h ahead: 12:30 UTC is past midnight there
    last = {"turned": datetime(2026, 3, 12, 10, 30, tzinfo=UTC)}
    assert done_today(last, datetime(2026, 3, 12, 12, 30, tzinfo=UTC), auckland, {}) == []
    assert date(2026, 3, 13) == datetime(2026, 3, 12, 12, 30, tzinfo=UTC).astimezone(auckland.zone).date()
