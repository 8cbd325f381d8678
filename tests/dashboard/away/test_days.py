"""What the days away ask for, shelf by shelf."""

from datetime import timedelta

import pytest
from sqlalchemy import Engine

from collector.records.engine import reading
from dashboard.away.days import ShelfPlan, shelf_plans
from dashboard.household import Household
from dashboard.rounds.shelves import look, round_of
from dashboard.wheels.bodies.doings import Care
from dashboard.wheels.bodies.sheets import PlanLine, StyleSheet
from tests.dashboard.book_kept import a_style, a_wheel, enter
from tests.dashboard.conftest import NOW_AT
from tests.dashboard.dairy import a_place

HOUSE = Household(time_zone="UTC")
TODAY = NOW_AT.date()
PLAN = (PlanLine(care="turned", every_d=2), PlanLine(care="weighed", every_d=9))


def plans(engine: Engine, from_d: int, to_d: int) -> tuple[ShelfPlan, ...]:
    with reading(engine) as db:
        round_, looked = round_of(db, NOW_AT, HOUSE), look(db, NOW_AT, HOUSE)
        return shelf_plans(round_, looked, TODAY + timedelta(days=from_d), TODAY + timedelta(days=to_d))


def said(plan: ShelfPlan) -> dict[int, list[tuple[str, tuple[str, ...]]]]:
    return {(day.on - TODAY).days: [(one.word, one.codes) for one in day.to_do] for day in plan.days}


@pytest.fixture
def shelf(engine: Engine) -> dict[str, str]:
    """Two wheels that are turned every second day and weighed every ninth day; both were turned today."""
    with engine.begin() as db:
        place_id, style_id = a_place(db, "Upper board"), a_style(db)
        enter(db, StyleSheet(name="tomme", plan=PLAN), 300, style_id=style_id)
        ids = {code: a_wheel(db, code, 21, place_id, style_id=style_id) for code in ("W1", "W2")}
        for wheel_id in ids.values():
            enter(db, Care(care="turned"), 0, wheel_id=wheel_id)
    return ids


def test_each_day_says_what_to_do_with_which_wheels(engine: Engine, shelf: dict[str, str]) -> None:
    (plan,) = plans(engine, 1, 5)
    assert plan.name == "Upper board"
    assert shelf
    turns = {day: codes for day, lines in said(plan).items() for word, codes in lines if word == "turn"}
    assert turns == {2: ("W1", "W2"), 4: ("W1", "W2")}
    assert all(one.every for day in plan.days for one in day.to_do)


def test_what_is_late_stands_on_the_first_day_and_then_by_its_rhythm(engine: Engine, shelf: dict[str, str]) -> None:
    assert shelf
    (plan,) = plans(engine, 0, 10)
    weighed = [day for day, lines in said(plan).items() if "weigh" in [word for word, _ in lines]]
    assert weighed == [0, 9]


def test_days_that_ask_for_nothing_are_left_out(engine: Engine, shelf: dict[str, str]) -> None:
    assert shelf
    (plan,) = plans(engine, 3, 3)
    assert said(plan) == {}


def test_a_wheel_without_a_style_asks_for_nothing_and_still_stands_there(engine: Engine) -> None:
    with engine.begin() as db:
        a_wheel(db, "W9", 5, a_place(db, "Upper board"))
    (plan,) = plans(engine, 0, 5)
    assert (plan.days, plan.rows[0].wheel.code) == ((), "W9")
