"""Past days are foretold from what was known then, and only where something tells what came."""

from datetime import datetime, timedelta

import pytest
from sqlalchemy import Engine

from collector.records.columns import from_ms, to_ms
from collector.settings import Settings
from dashboard.weights.keeping import keep_all, try_all
from dashboard.weights.kept import TRIED, Forecast, keep_tried, past, score_of
from dashboard.weights.tried import Trial, as_of, trials
from dashboard.wheels.bodies.doings import Moved, Weighing
from dashboard.wheels.book import wheel_book
from tests.dashboard.book_kept import a_wheel, enter
from tests.dashboard.conftest import NOW_AT
from tests.dashboard.dairy import a_place
from tests.dashboard.weights.aged import DAYS, Aged

LATER_AT = NOW_AT + timedelta(days=40)
WEEK = timedelta(days=7)


def weigh(engine: Engine, wheel_id: str, at: datetime, grams: float) -> None:
    with engine.begin() as db:
        enter(db, Weighing(scale_g=grams), 0, now_at=at, wheel_id=wheel_id)


@pytest.fixture
def weighed_on(engine: Engine, wheels_aged: Aged) -> Aged:
    """Two of the wheels were weighed for five weeks more."""
    for week in range(1, 6):
        weigh(engine, wheels_aged.even, NOW_AT + week * WEEK, 2_380 - 10 * week)
        weigh(engine, wheels_aged.fast, NOW_AT + week * WEEK, 2_190 - 25 * week)
    return wheels_aged


def left_of(engine: Engine) -> list[Trial]:
    with engine.connect() as db:
        return trials(db, LATER_AT)


def test_past_days_are_foretold_and_held_against_what_came(
    settings: Settings, engine: Engine, weighed_on: Aged
) -> None:
    waiting = left_of(engine)
    assert {one.wheel_id for one in waiting} == {weighed_on.even, weighed_on.fast}
    assert try_all(settings, LATER_AT) == (len(waiting), 0)
    with engine.connect() as db:
        score = score_of(past(db, LATER_AT, kind=TRIED))
        assert (score.due, score.known) == (len(waiting), len(waiting))
        assert past(db, LATER_AT) == []  # what was never told to anybody is not counted as told
    assert try_all(settings, LATER_AT) == (0, 0)


def test_nothing_is_known_of_what_happened_later(engine: Engine, wheels_aged: Aged) -> None:
    with engine.begin() as db:
        before = wheel_book(db, wheels_aged.even)
        enter(db, Weighing(scale_g=900), 0, now_at=NOW_AT + WEEK, wheel_id=wheels_aged.even)
        enter(db, Moved(), 0, now_at=NOW_AT + WEEK, wheel_id=wheels_aged.even, place_id=wheels_aged.damp)
        after = wheel_book(db, wheels_aged.even)
    assert before is not None
    assert after is not None
    assert after.wheel.place_id == wheels_aged.damp
    then = as_of(after, NOW_AT + timedelta(days=1))
    assert then.wheel.place_id == wheels_aged.cave
    assert then.history == before.history
    weighed_at = before.history.losses[3].at
    assert as_of(after, weighed_at).history.losses == before.history.losses[:3]


def test_two_that_try_at_once_keep_one(engine: Engine) -> None:
    found = Forecast("w", to_ms(NOW_AT), 2_300.0, 2_350.0, 2_400.0, {})
    with engine.begin() as db:
        assert keep_tried(db, found, NOW_AT - timedelta(days=30), 2_340.0, NOW_AT)
        assert not keep_tried(db, found, NOW_AT - timedelta(days=30), 2_340.0, NOW_AT)
        assert score_of(past(db, NOW_AT, kind=TRIED)).due == 1


def test_where_the_air_was_not_measured_nothing_is_tried(settings: Settings, engine: Engine, wheels_aged: Aged) -> None:
    with engine.begin() as db:
        shed = a_wheel(db, "26-02", DAYS, a_place(db, "Shed"), (2_500, 2_480, 2_460), style_id=wheels_aged.style)
    for week in range(1, 6):
        weigh(engine, shed, NOW_AT + week * WEEK, 2_440 - 10 * week)
    assert left_of(engine)
    assert try_all(settings, LATER_AT) == (0, 0)


def test_no_day_is_begun_when_the_time_is_up(settings: Settings, engine: Engine, weighed_on: Aged) -> None:
    assert try_all(settings, LATER_AT, for_s=0.0) == (0, len(left_of(engine)))


def test_a_day_near_a_kept_forecast_is_not_tried(settings: Settings, engine: Engine, weighed_on: Aged) -> None:
    day = left_of(engine)[0]
    keep_all(settings, from_ms(day.at_ms) + timedelta(days=3))
    assert day not in left_of(engine)
