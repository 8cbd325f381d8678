"""Typing a reading, and what becomes of it."""

import re
from datetime import timedelta

import pytest
from fastapi.testclient import TestClient
from sqlalchemy import Engine, select

from collector.readings.reader import Readings
from collector.readings.store import SqliteReadings
from collector.records.engine import reading
from collector.records.places import load_facts
from collector.records.tables import typed_reading
from collector.settings import Settings
from collector.typed import take_typed, typed_probe
from tests.dashboard.conftest import NOW_AT
from tests.dashboard.dairy import a_place

DIAL = "dial on the wall"


@pytest.fixture
def cave(engine: Engine) -> str:
    with engine.begin() as db:
        return a_place(db)


def rows(engine: Engine) -> list[tuple[object, ...]]:
    t = typed_reading.c
    with reading(engine) as db:
        return [
            tuple(row) for row in db.execute(select(t.temperature_c, t.humidity_pct, t.done_at, t.seq).order_by(t.seq))
        ]


def texts(cave: str, **more: str) -> dict[str, str]:
    return {"place": cave, "instrument": DIAL, "temperature": "12,4", "humidity": "86", **more}


def form_id(page: str) -> str:
    found = re.search(r'name="id" value="([0-9a-f-]{36})"', page)
    assert found
    return found[1]


def test_a_reading_is_kept_and_told(helper: TestClient, engine: Engine, cave: str) -> None:
    answer = helper.post("/readings/type", data=texts(cave))
    assert (answer.status_code, answer.headers["location"]) == (303, f"/caves/{cave}")
    assert rows(engine) == [(12.4, 86.0, NOW_AT, 1)]
    assert "Kept: 12.4 °C and 86 % in Lower fridge." in helper.get("/readings/type").text


def test_what_was_typed_becomes_a_reading_of_the_place(
    helper: TestClient, engine: Engine, settings: Settings, cave: str
) -> None:
    helper.post("/readings/type", data=texts(cave))
    store = SqliteReadings(settings.readings_path)
    assert take_typed(engine, store) == 1
    assert take_typed(engine, store) == 0
    store.close()
    readings = Readings(settings.readings_path)
    last = {channel.field: readings.last(channel.id) for channel in readings.channels()}
    readings.close()
    assert [(last[f] or ())[1] for f in ("temperature", "humidity")] == [12.4, 86.0]
    page = helper.get("/probes").text
    assert f"{DIAL}, Lower fridge" in page


def test_posting_twice_keeps_once(helper: TestClient, engine: Engine, clock: object, cave: str) -> None:
    own_id = form_id(helper.get(f"/readings/type?place={cave}").text)
    helper.post("/readings/type", data=texts(cave, id=own_id))
    clock.advance(timedelta(seconds=40))  # type: ignore[attr-defined]
    helper.post("/readings/type", data=texts(cave, id=own_id))
    assert len(rows(engine)) == 1
    assert "Kept before: 12.4 °C and 86 %" in helper.get("/readings/type").text


def test_a_form_that_one_went_back_to_gives_another_reading(helper: TestClient, engine: Engine, cave: str) -> None:
    own_id = form_id(helper.get(f"/readings/type?place={cave}").text)
    helper.post("/readings/type", data=texts(cave, id=own_id))
    helper.post("/readings/type", data=texts(cave, id=own_id, temperature="13"))
    helper.post("/readings/type", data=texts(cave, id=own_id, at="2026-03-12T08:00"))
    assert [row[0] for row in rows(engine)] == [12.4, 13.0, 12.4]
    assert [row[3] for row in rows(engine)] == [1, 2, 3]


def test_the_instrument_belongs_to_the_place_from_the_first_reading_on(
    helper: TestClient, engine: Engine, cave: str
) -> None:
    helper.post("/readings/type", data=texts(cave))
    helper.post("/readings/type", data=texts(cave, at="2026-03-11T08:00"))
    helper.post("/readings/type", data=texts(cave, at="2026-03-12T08:00"))
    with reading(engine) as db:
        placed = load_facts(db).placements[typed_probe(cave, DIAL), None]
    assert [p.place_id for p in placed] == [cave, cave]
    assert [f"{p.valid_from_at:%d %H:%M}" for p in placed] == ["11 08:00", "12 14:10"]


def test_one_value_alone_will_do(helper: TestClient, engine: Engine, cave: str) -> None:
    helper.post("/readings/type", data=texts(cave, humidity=""))
    helper.post("/readings/type", data=texts(cave, temperature=""))
    assert [row[:2] for row in rows(engine)] == [(12.4, None), (None, 86.0)]


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ({"temperature": "54"}, "The temperature must be at most 50 °C, got &#39;54&#39;."),
        ({"humidity": "104"}, "The humidity must be at most 100 %, got &#39;104&#39;."),
        ({"humidity": "0"}, "The humidity must be at least 1 %"),
        ({"temperature": "", "humidity": ""}, "Type a temperature, a humidity, or both."),
        ({"instrument": " "}, "Name the instrument"),
        ({"instrument": "a/b"}, "must not have / in it, got a/b"),
        ({"instrument": "x" * 81}, "at most 80 characters; this has 81"),
        ({"at": "2026-03-13T08:00"}, "must not be in the future"),
        ({"place": "nowhere"}, "Take one of the places."),
    ],
)
def test_what_cannot_be_is_named_and_the_text_stays(
    helper: TestClient, engine: Engine, cave: str, more: dict[str, str], said: str
) -> None:
    answer = helper.post("/readings/type", data=texts(cave, **more))
    assert answer.status_code == 422
    assert said in answer.text
    assert rows(engine) == []
    for name in ("temperature", "humidity", "at"):
        if more.get(name):
            assert f'value="{more[name]}"' in answer.text


def test_the_other_unit_works_too(helper: TestClient, engine: Engine, cave: str) -> None:
    """54 F is 12.2 C by NIST SP 811 (2008), B.8."""
    helper.post("/readings/type", data=texts(cave, temperature="54F"))
    assert rows(engine)[0][0] == pytest.approx(12.222, abs=0.001)


def test_a_keypad_without_a_minus_can_say_below_zero(helper: TestClient, engine: Engine, cave: str) -> None:
    with engine.begin() as db:
        garden = a_place(db, "North wall", "outside")
    assert "Below zero" in helper.get(f"/readings/type?place={garden}").text
    assert "Below zero" not in helper.get(f"/readings/type?place={cave}").text
    helper.post("/readings/type", data=texts(garden, temperature="4,5", below_zero="yes"))
    assert rows(engine)[0][0] == -4.5
    with reading(engine) as db:
        assert load_facts(db).placements[typed_probe(garden, DIAL), None][0].site == "outside"


def test_the_instrument_of_the_place_is_remembered(helper: TestClient, engine: Engine, cave: str) -> None:
    with engine.begin() as db:
        other = a_place(db, "Cold fridge")
    helper.post("/readings/type", data=texts(cave))
    helper.post("/readings/type", data=texts(other, instrument="stick"))
    assert f'value="{DIAL}"' in helper.get(f"/readings/type?place={cave}").text.split("<datalist")[0]
    assert 'value="stick"' in helper.get(f"/readings/type?place={other}").text.split("<datalist")[0]


def test_a_keypad_comes_up_for_numbers(helper: TestClient, engine: Engine, cave: str) -> None:
    assert helper.get("/readings/type").text.count('inputmode="decimal"') == 2


def test_a_correction_keeps_time_and_place_and_names_what_it_replaces(
    helper: TestClient, engine: Engine, settings: Settings, cave: str
) -> None:
    helper.post("/readings/type", data=texts(cave, temperature="21,4", at="2026-03-12T08:00"))
    with reading(engine) as db:
        first = db.execute(select(typed_reading.c.id)).scalar_one()
    page = helper.get(f"/readings/type?again={first}").text
    assert 'value="21.4"' in page
    helper.post("/readings/type", data={"again": first, "id": form_id(page), "temperature": "12,4", "humidity": ""})
    store = SqliteReadings(settings.readings_path)
    take_typed(engine, store)
    store.close()
    readings = Readings(settings.readings_path)
    kept = [(c.field, readings.last(c.id)) for c in readings.channels()]
    readings.close()
    assert {field: (last or ())[1] for field, last in kept} == {"temperature": 12.4, "humidity": 86.0}
    shown = helper.get(f"/readings/type?place={cave}").text
    assert "12.4 °C, 86 %" in shown
    assert "21.4" not in shown
    assert helper.get("/readings/type?again=none").status_code == 404


def test_without_a_place_one_is_led_to_name_one(helper: TestClient, engine: Engine) -> None:
    assert "There is no place yet" in helper.get("/readings/type").text


def test_a_guest_types_nothing(guest: TestClient, engine: Engine, cave: str) -> None:
    assert guest.post("/readings/type", data=texts(cave)).status_code == 403
    assert "Type a reading" not in guest.get("/more").text
