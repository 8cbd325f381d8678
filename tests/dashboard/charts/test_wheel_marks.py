"""What happened to the wheels of a place, as marks: only while they stood there, a day a mark."""

from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import Connection, Engine

from collector.notify.known import load_known
from collector.records.columns import new_id, to_ms
from dashboard.charts.mark import ChartMark, Search
from dashboard.charts.marks import Lane, lanes
from dashboard.wheels.bodies.doings import Care, Covered, Looked, Moved, RindNote, Withdrawn
from dashboard.wheels.bodies.sheets import WheelSheet
from dashboard.wheels.entries import NewEntry, put_all
from tests.dashboard.conftest import NOW_AT
from tests.dashboard.dairy import a_place

DAY = timedelta(days=1)


def entered(db: Connection, body: Any, wheel_id: str, days_ago: float, **refs: Any) -> str:
    at = NOW_AT - days_ago * DAY
    new = NewEntry(id=new_id(to_ms(at)), done_at=at, typed_time=True, wheel_id=wheel_id, body=body, **refs)
    put_all(db, [new], received_at=NOW_AT)
    return new.id


def a_wheel(db: Connection, code: str, place_id: str, days_ago: float = 9) -> str:
    wheel_id = new_id()
    entered(db, WheelSheet(code=code), wheel_id, days_ago)
    entered(db, Moved(), wheel_id, days_ago, place_id=place_id)
    return wheel_id


def found_in(db: Connection, place_id: str, from_at: datetime = NOW_AT - 8 * DAY) -> dict[str, tuple[ChartMark, ...]]:
    found: list[Lane] = lanes(Search(db, load_known(db, NOW_AT), place_id, to_ms(from_at), to_ms(NOW_AT)))
    return {lane.kind.name: lane.marks for lane in found}


def test_a_shelf_that_was_turned_is_one_mark(engine: Engine) -> None:
    with engine.begin() as db:
        cellar = a_place(db)
        first, second = (a_wheel(db, code, cellar) for code in ("24-07A", "24-07B"))
        for wheel_id in (first, second):
            entered(db, Care(care="turned", nothing_new=True), wheel_id, 3)
        entered(db, Care(care="washed"), first, 3)
        entered(db, Looked(), second, 1)
        marks = found_in(db, cellar)
    assert [mark.words for mark in marks["care"]] == ["2 turned, 1 washed", "24-07B: looked at"]
    assert marks.keys() == {"care"}


def test_what_was_done_elsewhere_or_undone_is_not_there(engine: Engine) -> None:
    with engine.begin() as db:
        cellar, fridge = a_place(db), a_place(db, "Elsewhere")
        wheel_id = a_wheel(db, "24-07A", cellar)
        entered(db, Moved(), wheel_id, 5, place_id=fridge)
        entered(db, RindNote(note="crack"), wheel_id, 4)
        slip = entered(db, RindNote(note="mites"), wheel_id, 3)
        entered(db, Withdrawn(), wheel_id, 2.9, replaces=slip)
        here, there = found_in(db, cellar), found_in(db, fridge)
    assert "rind" not in here
    assert [(mark.words, mark.path) for mark in there["rind"]] == [("24-07A: crack", f"/wheels/{wheel_id}")]


def test_who_came_and_went_is_told_and_a_new_covering_is_no_move(engine: Engine) -> None:
    with engine.begin() as db:
        cellar, fridge = a_place(db), a_place(db, "Elsewhere")
        wheel_id = a_wheel(db, "24-07A", cellar, days_ago=7)
        entered(db, Covered(covering="cloth"), wheel_id, 5)
        entered(db, Moved(), wheel_id, 2, place_id=fridge)
        marks = found_in(db, cellar)
    assert [mark.words for mark in marks["moves"]] == ["came: 24-07A", "left: 24-07A"]
    assert [mark.words for mark in marks["coverings"]] == ["cloth: 24-07A"]


def test_many_codes_are_counted_behind_the_sixth(engine: Engine) -> None:
    with engine.begin() as db:
        cellar = a_place(db)
        for number in range(8):
            a_wheel(db, f"W{number}", cellar, days_ago=3)
        (mark,) = found_in(db, cellar)["moves"]
    assert mark.words == "came: W0, W1, W2, W3, W4, W5 and 2 more"


def test_care_counts_only_while_the_wheel_stood_there_and_a_single_wheel_is_named(engine: Engine) -> None:
    with engine.begin() as db:
        cellar, fridge = a_place(db), a_place(db, "Elsewhere")
        stays, leaves = a_wheel(db, "24-07A", cellar), a_wheel(db, "24-07B", cellar)
        entered(db, Moved(), leaves, 5, place_id=fridge)
        entered(db, Moved(), leaves, 2, place_id=cellar)
        for days_ago in (6, 4, 1):
            entered(db, Care(care="turned"), stays, days_ago)
            entered(db, Care(care="turned", nothing_new=True), leaves, days_ago)
        entered(db, Care(care="brushed"), stays, 4)
        slip = entered(db, Care(care="washed"), stays, 4)
        entered(db, Withdrawn(), stays, 3.9, replaces=slip)
        here, there = found_in(db, cellar), found_in(db, fridge)
    assert [mark.words for mark in here["care"]] == ["2 turned", "24-07A: turned, brushed", "2 turned"]
    assert [mark.words for mark in there["care"]] == ["24-07B: turned"]
