"""The round as it is gathered: in the person's order always, nobody lost, what is late counted."""

from datetime import timedelta

from sqlalchemy import Engine

from collector.records.columns import new_id
from collector.records.engine import reading
from dashboard.household import Household
from dashboard.places.adding import close, shift
from dashboard.rounds.model import Round
from dashboard.rounds.shelves import NOWHERE, round_of
from dashboard.wheels.entries import put_all
from tests.browser.rounds.cellar import Cellar, entry
from tests.dashboard.conftest import NOW_AT

HOUSE = Household()


def gathered(engine: Engine) -> Round:
    with reading(engine) as db:
        return round_of(db, NOW_AT, HOUSE)


def put(engine: Engine, *bodies: tuple[dict[str, object], dict[str, str]]) -> None:
    with engine.begin() as db:
        put_all(db, [entry(body, 0, NOW_AT, **refs) for body, refs in bodies], received_at=NOW_AT)


def test_shelves_stand_in_the_persons_order_however_late_they_are(engine: Engine, cellar: Cellar) -> None:
    names = [shelf.name for shelf in gathered(engine).shelves]
    assert names == ["Old cellar", "Left shelf", "Right shelf"]
    put(engine, *(({"kind": "care", "care": "turned"}, {"wheel_id": cellar.wheels[f"24-0{n}"]}) for n in (1, 2, 3)))
    found = gathered(engine)
    assert [shelf.name for shelf in found.shelves] == names
    assert [shelf.overdue for shelf in found.shelves] == [0, 0, 2]
    with engine.begin() as db:
        shift(db, cellar.shelves[1], -1)
    assert [shelf.name for shelf in gathered(engine).shelves] == ["Old cellar", "Right shelf", "Left shelf"]


def test_late_wheels_and_those_due_are_counted(engine: Engine, cellar: Cellar) -> None:
    found = gathered(engine)
    assert (found.wheels, found.overdue, found.due) == (5, 5, 5)
    row = found.shelves[1].rows[0]
    # A tomme of that age is turned each 7 days by its plan; it was turned 10 days ago.
    assert [(mark.care, mark.when) for mark in row.due] == [("turned", "3 days late")]
    assert row.about == "tomme, 50 days, 2.10 kg"


def test_turning_alone_is_no_look_and_turned_nothing_new_is_one(engine: Engine, cellar: Cellar) -> None:
    one, other = cellar.wheels["24-01"], cellar.wheels["24-02"]
    put(
        engine,
        ({"kind": "care", "care": "turned"}, {"wheel_id": one}),
        ({"kind": "care", "care": "turned", "nothing_new": True}, {"wheel_id": other}),
    )
    rows = {row.wheel.id: row for row in gathered(engine).shelves[1].rows}
    assert rows[one].wheel.last_at["clean"] < NOW_AT - timedelta(days=9)
    assert rows[other].wheel.last_at["clean"] == rows[other].wheel.last_at["turned"] == NOW_AT


def test_wheels_without_a_place_and_those_of_a_closed_one_are_not_lost(engine: Engine, cellar: Cellar) -> None:
    put(engine, ({"kind": "wheel", "code": "lost"}, {"wheel_id": new_id()}))
    with engine.begin() as db:
        close(db, cellar.shelves[1], NOW_AT)
    shelves = {shelf.place_id: shelf for shelf in gathered(engine).shelves}
    assert [row.wheel.code for row in shelves[NOWHERE].rows] == ["lost"]
    assert shelves[cellar.shelves[1]].inside == "this place is closed"
    assert len(shelves[cellar.shelves[1]].rows) == 2


def test_chores_that_were_done_here_are_due_by_their_rhythm(engine: Engine, cellar: Cellar) -> None:
    lines = {line.name: line for line in gathered(engine).shelves[0].chores}
    assert gathered(engine).shelves[0].chores[0].name == "humidifier_filled"
    assert (lines["humidifier_filled"].due, lines["humidifier_filled"].last) == (True, "3 days ago")
    assert (lines["tray_emptied"].due, lines["tray_emptied"].last) == (False, "yesterday")
    assert (lines["defrosted"].due, lines["defrosted"].last) == (False, "")


def test_a_chore_that_was_taken_back_was_not_done(engine: Engine, cellar: Cellar) -> None:
    chore = entry({"kind": "chore", "chore": "defrosted"}, 1, NOW_AT, place_id=cellar.cave)
    undone = entry({"kind": "withdrawn"}, 0, NOW_AT, place_id=cellar.cave, replaces=chore.id)
    with engine.begin() as db:
        put_all(db, [chore, undone], received_at=NOW_AT)
    lines = {line.name: line for line in gathered(engine).shelves[0].chores}
    assert lines["defrosted"].last == ""


def test_brine_says_what_was_measured_last(engine: Engine, cellar: Cellar) -> None:
    lines = {line.gear.id: line for line in gathered(engine).gear}
    assert lines[cellar.brine].last == "20 %, pH 5.2, 9 days ago"
    assert lines[cellar.jar].last == "nothing written down yet"
    assert "boiled" in lines[cellar.brine].flags
    assert cellar.board not in lines
