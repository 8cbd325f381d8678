"""Side by side: what happened and what was weighed stands with the air, of a cave and of a wheel."""

import csv
import io
import json
from datetime import timedelta
from typing import Any

import pytest
from fastapi.testclient import TestClient
from sqlalchemy import Connection, Engine

from collector.records.columns import new_id, to_ms
from collector.settings import Settings
from dashboard import words
from dashboard.household import Household
from dashboard.wheels.bodies.doings import Care, Ended, Moved, RindNote, Tasting, Weighing
from dashboard.wheels.bodies.sheets import WheelSheet
from dashboard.wheels.entries import NewEntry, put_all
from tests.dashboard.conftest import NOW_AT
from tests.dashboard.dairy import a_place, a_placement, a_target, a_warning, keep
from tests.dashboard.pages.test_caves import words_of
from tests.dashboard.places_seen import messages


def entered(db: Connection, body: Any, wheel_id: str | None, days_ago: float, **refs: Any) -> None:
    at = NOW_AT - timedelta(days=days_ago)
    new = NewEntry(id=new_id(to_ms(at)), done_at=at, typed_time=True, wheel_id=wheel_id, body=body, **refs)
    put_all(db, [new], received_at=NOW_AT)


def a_wheel(db: Connection, code: str, place_id: str) -> str:
    wheel_id = new_id()
    entered(db, WheelSheet(code=code), wheel_id, 20)
    entered(db, Moved(), wheel_id, 20, place_id=place_id)
    entered(db, Weighing(scale_g=2_000, start="cave"), wheel_id, 20)
    entered(db, Care(care="turned"), wheel_id, 3)
    entered(db, RindNote(note="crack"), wheel_id, 1.5)
    entered(db, Weighing(scale_g=1_900), wheel_id, 1)
    return wheel_id


@pytest.fixture
def place_id(settings: Settings, engine: Engine) -> str:
    with engine.begin() as db:
        place_id = a_place(db)
        a_target(db, place_id)
        a_placement(db, "cellar-1", place_id)
        a_warning(db, "too_damp", hours_ago=30, for_h=4, place_id=place_id)
    keep(settings, messages(hours=48))
    return place_id


@pytest.fixture
def wheel_id(engine: Engine, place_id: str) -> str:
    with engine.begin() as db:
        return a_wheel(db, "24-07B", place_id)


def test_a_cave_shows_losses_and_marks_beside_its_air(guest: TestClient, place_id: str, wheel_id: str) -> None:
    said = words_of(guest.get(f"/caves/{place_id}/side-by-side").text)
    assert "24-07B: crack" in said
    assert "24-07B: turned" in said
    assert "too damp" in said
    assert "5.0" in said
    assert words.weight(1_900, Household()) in said


def test_its_chart_has_air_loss_and_a_row_for_each_kind_of_mark(
    guest: TestClient, place_id: str, wheel_id: str
) -> None:
    figure = json.loads(guest.get(f"/caves/{place_id}/side-by-side/figure?span=month").text)
    names = {trace.get("name") for trace in figure["data"]}
    assert {"temperature", "humidity", "24-07B", "rind", "care", "moves", "warnings"} <= names
    loss = next(trace for trace in figure["data"] if trace.get("name") == "24-07B")
    assert loss["y"] == [0.0, 5.0]
    assert figure["layout"]["yaxis4"]["title"]["text"] == "lost %"


def test_only_chosen_wheels_are_drawn(guest: TestClient, engine: Engine, place_id: str, wheel_id: str) -> None:
    with engine.begin() as db:
        other = a_wheel(db, "24-08A", place_id)
    figure = json.loads(guest.get(f"/caves/{place_id}/side-by-side/figure?wheel={other}").text)
    names = {trace.get("name") for trace in figure["data"]}
    assert "24-08A" in names
    assert "24-07B" not in names


def test_a_wheel_shows_the_air_of_where_it_was(guest: TestClient, place_id: str, wheel_id: str) -> None:
    page = guest.get(f"/wheels/{wheel_id}/side-by-side")
    assert page.status_code == 200
    said = words_of(page.text)
    assert "24-07B: side by side" in said
    assert "moved to Lower fridge" in said
    figure = json.loads(guest.get(f"/wheels/{wheel_id}/side-by-side/figure").text)
    names = [trace.get("name") for trace in figure["data"]]
    assert {"temperature", "humidity", "target", "24-07B", "rind", "warnings"} <= set(names)


def test_a_wheel_that_is_gone_ends_its_chart_with_it(
    guest: TestClient, engine: Engine, place_id: str, wheel_id: str
) -> None:
    with engine.begin() as db:
        entered(db, Tasting(verdict=4), wheel_id, 0.6)
        entered(db, Ended(how="eaten"), wheel_id, 0.5)
    page = guest.get(f"/wheels/{wheel_id}/side-by-side").text
    assert "20 February 2026 to 12 March 2026" in words_of(page)
    assert "tasted, 4 of 5" in words_of(page)


def test_the_csv_has_air_weighings_and_marks_in_order(guest: TestClient, place_id: str, wheel_id: str) -> None:
    for path in (f"/caves/{place_id}/side-by-side.csv?span=month", f"/wheels/{wheel_id}/side-by-side.csv"):
        rows = list(csv.reader(io.StringIO(guest.get(path).text)))
        assert rows[0][:3] == ["time (UTC)", "temperature (degC)", "humidity (%)"]
        assert len({len(row) for row in rows}) == 1
        assert [row[0] for row in rows[1:]] == sorted(row[0] for row in rows[1:])
        weighed = [row for row in rows if row[-2] == "1900.0"]
        assert len(weighed) == 1
        assert weighed[0][-1] == "5.0"
        assert any(row[1] for row in rows[1:])
        assert any("crack" in row[5] for row in rows)


@pytest.mark.parametrize("path", ["/caves/nowhere/side-by-side", "/wheels/nobody/side-by-side"])
def test_what_there_is_not_is_not_found(guest: TestClient, place_id: str, path: str) -> None:
    assert guest.get(path).status_code == 404


def test_a_stretch_that_cannot_be_read_is_refused(guest: TestClient, place_id: str, wheel_id: str) -> None:
    assert guest.get(f"/wheels/{wheel_id}/side-by-side?span=eon").status_code == 422
