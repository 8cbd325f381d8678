"""What is due when. Day counts by hand; how a long-aged wheel is turned is common practice, no source."""

from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dashboard.wheels.bodies.sheets import PlanLine
from dashboard.wheels.care_plan import Due, due, stretch
from dashboard.wheels.history import EVERY_CARE, LEFT
from dashboard.wheels.kinds.styles import STYLES

MADE = date(2025, 1, 31)
PLAN = (
    PlanLine(care="turned", every_d=1, to_d=14),
    PlanLine(care="turned", every_d=3, from_d=14, to_d=42),
    PlanLine(care="turned", every_d=7, from_d=42),
    PlanLine(care="brushed", every_d=7, from_d=14),
)


def on(age_d: int) -> date:
    return MADE + timedelta(days=age_d)


def next_turn(today: int, **last: int) -> Due:
    found = due(PLAN, MADE, {name: on(age) for name, age in last.items()}, on(today))
    return next(d for d in found if d.care == "turned")


def test_a_new_wheel_is_turned_on_its_first_day() -> None:
    assert next_turn(0) == Due("turned", on(0), 1, 0)


def test_care_due_today_is_not_overdue() -> None:
    assert next_turn(5, turned=4) == Due("turned", on(5), 1, 0)
    assert not next_turn(5, turned=4).overdue


def test_missed_turns_are_counted() -> None:
    assert next_turn(8, turned=4) == Due("turned", on(5), 1, 3)
    assert next_turn(60, turned=50) == Due("turned", on(57), 7, 1)
    assert next_turn(65, turned=50) == Due("turned", on(57), 7, 2)


def test_a_line_begins_at_its_age_and_not_before() -> None:
    # Turned on day 13, the last of the daily ones; the next line asks every three days from day 14 on.
    assert next_turn(14, turned=13).on == on(16)
    assert due(PLAN, MADE, {}, on(3))[-1] == Due("brushed", on(14), 7, 0)


def test_missed_turns_are_counted_through_the_ages() -> None:
    # Days 11, 12, 13 of the daily line, then 16, 19, 22, 25 and 28.
    assert next_turn(30, turned=10) == Due("turned", on(11), 1, 8)


def test_a_wheel_that_came_into_the_book_late_has_missed_nothing_before() -> None:
    assert next_turn(100, begun=100) == Due("turned", on(100), 7, 0)


def test_left_missed_turns_are_counted_from_that_day() -> None:
    assert next_turn(60, turned=30, **{LEFT + "turned": 60}) == Due("turned", on(67), 7, 0)
    assert next_turn(60, turned=30, **{EVERY_CARE: 60}).missed == 0
    assert next_turn(60, turned=30, **{LEFT + "brushed": 60}).missed > 0


def test_a_plan_that_is_over_asks_for_nothing() -> None:
    assert due((PlanLine(care="washed", every_d=3, to_d=56),), MADE, {"washed": on(55)}, on(90)) == []


def test_a_bagged_wheel_is_turned_but_not_brushed() -> None:
    assert [d.care for d in due(PLAN, MADE, {}, on(20), "barrier_bag")] == ["turned"]
    assert [d.care for d in due(PLAN, MADE, {}, on(20), "cloth")] == ["turned", "brushed"]


def test_day_counts_do_not_skip_short_months() -> None:
    # A monthly rule from the 31st skips February (RFC 5545 recurrence by dateutil); every 28 days does not.
    days = [day for day, _ in stretch((PlanLine(care="weighed", every_d=28),), MADE, {}, date(2025, 4, 30))]
    assert days == [date(2025, 1, 31), date(2025, 2, 28), date(2025, 3, 28), date(2025, 4, 25)]


def test_the_calendar_shows_what_is_due_if_all_is_done_on_its_day() -> None:
    found = stretch(PLAN, MADE, {"turned": on(12)}, on(21))
    assert found == [
        (on(13), "turned"),
        (on(14), "brushed"),
        (on(16), "turned"),
        (on(19), "turned"),
        (on(21), "brushed"),
    ]


@pytest.mark.parametrize("name", ["clothbound", "grating"])
def test_a_hard_long_aged_wheel_sits_at_55_f_and_is_turned_about_weekly_for_a_year(name: str) -> None:
    # Common practice, no source: a plausibility check only. 55 degF is 12.8 degC.
    style = STYLES[name]
    assert style.temperature_low_c <= 12.8 <= style.temperature_high_c
    turns = [day for day, care in stretch(style.plan, MADE, {}, on(365)) if care == "turned" and day >= on(30)]
    assert 40 <= len(turns) <= 56


@settings(deadline=None)
@given(
    last=st.integers(0, 200),
    today=st.integers(0, 400),
    every=st.integers(1, 30),
    cut=st.integers(1, 200),
    later=st.integers(1, 30),
)
def test_missed_is_what_the_calendar_shows_before_today(
    last: int, today: int, every: int, cut: int, later: int
) -> None:
    plan = (
        PlanLine(care="turned", every_d=every, to_d=cut),
        PlanLine(care="turned", every_d=later, from_d=cut),
    )
    done = {"turned": on(last)}
    found = due(plan, MADE, done, on(today))[0]
    shown = stretch(plan, MADE, done, on(max(today, last)))
    assert found.missed == sum(day < on(today) for day, _ in shown)
