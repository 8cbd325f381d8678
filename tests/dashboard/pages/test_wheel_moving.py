"""Moving a shelf, and taking it back."""

import re

from fastapi.testclient import TestClient
from sqlalchemy import Engine

from collector.records.columns import new_id
from collector.settings import Settings
from dashboard.wheels import tables
from dashboard.wheels.book import wheels
from tests.dashboard.book_kept import a_style, a_wheel
from tests.dashboard.dairy import a_place, keep


def where(engine: Engine) -> set[str | None]:
    with engine.begin() as db:
        return {wheel.place_id for wheel in wheels(db)}


def test_a_shelf_is_moved_and_taken_back(helper: TestClient, engine: Engine) -> None:
    with engine.begin() as db:
        cold = a_place(db, "Cold fridge", assumed_temperature_c=4.0, assumed_humidity_pct=85.0)
        warm = a_place(db, "Warm cellar", assumed_temperature_c=16.0, assumed_humidity_pct=90.0)
        ids = [a_wheel(db, f"A{n}", 60, cold, (2_000.0,)) for n in range(12)]
    asked = helper.get(f"/wheels/move?from={cold}").text
    assert "Where to?" in asked
    assert f"to={cold}" not in asked
    path = f"/wheels/move?from={cold}&to={warm}"
    page = helper.get(path).text
    assert page.count('name="wheel"') == 12
    seed = re.findall(r'name="seed" value="([^"]+)"', page)[0]
    posted = {"seed": seed, "to": warm, "wheel": ids}
    for _ in range(2):
        answer = helper.post("/wheels/move", data=posted)
        assert answer.status_code == 303
    assert where(engine) == {warm}
    told = helper.get(answer.headers["location"]).text
    assert "12 wheels moved to Warm cellar." in told
    undo = re.findall(r'action="(/round/undo/[^"]+)"', told)[0]
    assert helper.post(undo.replace("&amp;", "&")).status_code == 303
    assert where(engine) == {cold}
    with engine.begin() as db:
        kept = db.execute(tables.entry.select().where(tables.entry.c.kind == "moved")).all()
    assert len(kept) == 24  # twelve first places, twelve moves; sent twice, each is kept once


def test_bad_company_is_said_quietly_before(helper: TestClient, engine: Engine) -> None:
    with engine.begin() as db:
        here, there = a_place(db), a_place(db, "Bare shelf")
        a_wheel(db, "Blue1", 60, here, style_id=a_style(db, "blue"))
        a_wheel(db, "Tomme1", 60, there, style_id=a_style(db))
    page = helper.get(f"/wheels/move?from={here}&to={there}").text
    assert "blue mould travels by air and hand" in page
    assert "Blue1 beside Tomme1" in page
    assert "nobody can say whether they will sweat" in page


def test_whom_the_air_there_does_not_suit_is_said_before(
    helper: TestClient, engine: Engine, settings: Settings
) -> None:
    keep(settings, [])
    with engine.begin() as db:
        here = a_place(db, "Cave", assumed_temperature_c=12.0, assumed_humidity_pct=88.0)
        counter = a_place(db, "Counter", assumed_temperature_c=17.0, assumed_humidity_pct=35.0)
        shelf = a_place(db, "Shelf", assumed_temperature_c=12.0, assumed_humidity_pct=88.0)
        tomme = a_style(db)
        for code in ("T1", "T2"):
            a_wheel(db, code, 60, here, style_id=tomme)
    page = helper.get(f"/wheels/move?from={here}&to={counter}").text
    assert "Too warm and too dry for tomme (2)" in page
    assert 'class="caution"' in page
    page = helper.get(f"/wheels/move?from={here}&to={shelf}").text
    assert "Fine for tomme (2)." in page
    assert 'class="caution"' not in page


def test_a_place_that_is_none_moves_nothing(helper: TestClient, engine: Engine) -> None:
    with engine.begin() as db:
        here = a_place(db)
        wheel = a_wheel(db, "A1", 60, here)
    answer = helper.post("/wheels/move", data={"seed": new_id(), "to": new_id(), "wheel": wheel})
    assert answer.status_code == 422
    assert "take one of the places" in answer.text
    assert where(engine) == {here}
