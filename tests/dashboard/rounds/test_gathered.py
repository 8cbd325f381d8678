"""The round is gathered once, and anew as soon as anything it shows has changed."""

from datetime import datetime, timedelta

from sqlalchemy import Engine

from collector.records.engine import reading
from collector.records.places import change_place
from dashboard.household import Household
from dashboard.rounds.gathered import Gathered, gathered
from dashboard.wheels.entries import put_all
from tests.browser.rounds.cellar import Cellar, entry
from tests.dashboard.conftest import NOW_AT

HOUSE = Household()


def seen(engine: Engine, now_at: datetime = NOW_AT, household: Household = HOUSE) -> Gathered:
    with reading(engine) as db:
        return gathered(db, now_at, household)


def test_nothing_new_is_not_gathered_again_but_has_its_own_time(engine: Engine, cellar: Cellar) -> None:
    first, again = seen(engine), seen(engine, NOW_AT + timedelta(minutes=3))
    assert again.round.shelves is first.round.shelves
    assert again.round.as_of_at == NOW_AT + timedelta(minutes=3)
    assert again.kept(HOUSE)["as_of"] == "14:13"


def test_an_entry_a_place_the_day_and_the_household_make_it_new(engine: Engine, cellar: Cellar) -> None:
    first = seen(engine)
    with engine.begin() as db:
        turned = entry({"kind": "care", "care": "turned"}, 0, NOW_AT, wheel_id=cellar.wheels["24-01"])
        put_all(db, [turned], received_at=NOW_AT)
    assert (first.round.overdue, seen(engine).round.overdue) == (5, 4)
    with engine.begin() as db:
        change_place(db, cellar.shelves[0], name="Lowest shelf")
    assert seen(engine).round.shelves[1].name == "Lowest shelf"
    assert seen(engine, NOW_AT + timedelta(days=8)).round.overdue == 5
    in_pounds = seen(engine, household=Household(weight_unit="lb")).round.shelves[1].rows[0].about
    assert in_pounds == "tomme, 50 days, 4 lb 10.1 oz"
