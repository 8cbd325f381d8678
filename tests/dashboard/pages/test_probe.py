"""One probe: what its page shows, and what can be settled about it, each from a date on."""

from datetime import UTC, datetime

import pytest
from fastapi.testclient import TestClient
from sqlalchemy import Engine

from collector.air.channel import UNCHECKED_U
from collector.calibration.history import NEW_SENSOR
from collector.readings.model import Reject, Sample
from collector.records.engine import reading
from collector.records.facts import Facts
from collector.records.places import load_facts
from collector.settings import Settings
from dashboard.probes.choices import choice
from tests.builders import START_AT, a_sample, an_arrival, at, ms
from tests.dashboard.conftest import NOW_AT
from tests.dashboard.dairy import a_calibration, a_place, a_placement, keep

PACK = b'[{"bn":"cellar-1/","n":"temperature","u":"Cel","v":11.5},{"n":"humidity","u":"%RH","v":88}]'
JSON = b'{"air": {"temperature": 54, "rh": 88}, "made": 1772431200, "<b>": 1}'


def facts_of(engine: Engine) -> Facts:
    with reading(engine) as db:
        return load_facts(db)


def where(known: Facts, field: str) -> str | None:
    """Where a field of the probe measures now; there must be a fact that says so."""
    placed = known.placement_at("cellar-1", field, NOW_AT)
    assert placed is not None
    return placed.place_id


@pytest.fixture
def cave(engine: Engine) -> str:
    with engine.begin() as db:
        return a_place(db)


@pytest.fixture
def heard(settings: Settings) -> None:
    """A probe of ours and another device's, heard for the first time on 2 March at 6:00."""
    keep(settings, [
        an_arrival(a_sample(0, 11.5), a_sample(0, 88, "humidity", "%RH"), payload=PACK),
        an_arrival(a_sample(10, 12.0), a_sample(10, 87, "humidity", "%RH"), payload=PACK),
        an_arrival(Sample("/air/temperature", ms(0), 54, "Cel", "temperature"), probe="shed/air", payload=JSON),
    ])  # fmt: skip


def test_its_messages_are_shown_with_what_was_understood(owner: TestClient, engine: Engine, heard: None) -> None:
    page = owner.get("/probes/shed/air").text
    assert "/air/temperature" in page
    assert "{&#34;air&#34;: {&#34;temperature&#34;: 54" in page
    assert "<b>" not in page.replace("<body>", "")
    assert "Where its time stands" in page
    assert "Where its time stands" not in owner.get("/probes/cellar-1").text


def test_what_of_it_was_not_understood_stands_there_too(
    guest: TestClient, engine: Engine, settings: Settings, heard: None
) -> None:
    keep(
        settings, [Reject("rindwatch/cellar-1/readings", "not JSON", b"{", ms(12)), Reject("else", "bad", b"", ms(12))]
    )
    page = guest.get("/probes/cellar-1").text
    assert "rindwatch/cellar-1/readings: not JSON (1)" in page
    assert "else: bad" not in page


@pytest.mark.parametrize(
    "path",
    [
        "/probes/none",
        "/probes/~",
        "/probes/cellar-1?do=nothing",
        "/probes/cellar-1?do=field&field=x",
        "/probes/cellar-1?do=put-away",
    ],
)
def test_what_is_not_there_is_not_found(owner: TestClient, engine: Engine, heard: None, path: str) -> None:
    assert owner.get(path).status_code == 404


def test_a_guest_looks_and_settles_nothing(guest: TestClient, engine: Engine, heard: None) -> None:
    assert "Settle" not in guest.get("/probes/cellar-1").text
    assert guest.get("/probes/cellar-1?do=name").status_code == 403
    assert guest.post("/probes/cellar-1/name").status_code == 403


def test_one_touch_places_it_from_its_first_reading(owner: TestClient, engine: Engine, heard: None, cave: str) -> None:
    assert f'value="{cave}"' in owner.get("/probes/cellar-1").text
    answer = owner.post("/probes/cellar-1/place", data={"place": cave, "since": "first"})
    assert (answer.status_code, answer.headers["location"]) == (303, "/probes/cellar-1")
    placed = facts_of(engine).placements["cellar-1", None]
    assert [(p.place_id, p.site, p.valid_from_at, p.known_from_at) for p in placed] == [(cave, "air", START_AT, NOW_AT)]
    page = owner.get("/probes/cellar-1").text
    assert "It measures in Lower fridge." in page
    assert "Where does it hang?" not in page


def test_a_new_place_comes_with_a_target_by_rind(owner: TestClient, engine: Engine, heard: None) -> None:
    texts = {
        "place": "new", "name": " Upper  cellar ", "kind": "cave", "preset": "washed", "since": "at",
        "since_at": "2026-03-03T08:00", "site": "air",
    }  # fmt: skip
    assert owner.post("/probes/shed/air/place", data=texts).status_code == 303
    known = facts_of(engine)
    place = next(iter(known.places.values()))
    assert (place.name, place.kind) == ("Upper cellar", "cave")
    target = known.targets[place.id][0]
    # An unchecked probe gets no band narrower than 6 %.
    assert (target.preset, target.resting) == ("washed", False)
    assert (target.humidity_high_pct or 0) - (target.humidity_low_pct or 0) >= 6
    assert target.valid_from_at == datetime(2026, 3, 3, 8, 0, tzinfo=UTC)
    assert known.placements["shed/air", None][0].place_id == place.id


@pytest.mark.parametrize(
    ("texts", "said"),
    [
        ({"place": "nowhere"}, "Take one of the places, or name a new one."),
        ({"place": "new", "name": ""}, "Give the place a name"),
        ({"place": "new", "name": "lower FRIDGE"}, "There is a place called lower FRIDGE already."),
        ({"place": "new", "name": "x" * 81}, "at most 80 characters; this has 81"),
        ({"place": "new", "name": "x", "preset": "gouda"}, "Take one of the kinds of rind"),
        ({"since": "at", "since_at": ""}, "Say from when on, or take one of the other two."),
        ({"since": "at", "since_at": "2026-03-13T08:00"}, "must not be in the future, got 2026-03-13T08:00"),
        ({"site": "plate"}, "Say whether it measures the air or a surface."),
    ],
)
def test_a_wrong_form_names_what_and_keeps_the_texts(
    owner: TestClient, engine: Engine, heard: None, cave: str, texts: dict[str, str], said: str
) -> None:
    answer = owner.post("/probes/cellar-1/place", data={"place": cave, "since": "now", "site": "air", **texts})
    assert answer.status_code == 422
    assert said in answer.text
    assert facts_of(engine).placements == {}
    assert len(facts_of(engine).places) == 1
    if texts.get("name"):
        assert f'value="{texts["name"]}"' in answer.text


def test_moving_adds_a_fact_and_rewrites_none(owner: TestClient, engine: Engine, heard: None, cave: str) -> None:
    with engine.begin() as db:
        other = a_place(db, "Cold fridge")
    owner.post("/probes/cellar-1/place", data={"place": cave, "since": "first"})
    owner.post("/probes/cellar-1/place", data={"place": other, "since": "now", "site": "surface"})
    placed = facts_of(engine).placements["cellar-1", None]
    assert [(p.place_id, p.site, p.valid_from_at) for p in placed] == [
        (cave, "air", START_AT),
        (other, "surface", NOW_AT),
    ]


def test_a_place_outside_says_the_site_by_itself(owner: TestClient, engine: Engine, heard: None) -> None:
    with engine.begin() as db:
        garden = a_place(db, "North wall", "outside")
    owner.post("/probes/cellar-1/place", data={"place": garden, "since": "first", "site": "air"})
    assert facts_of(engine).placements["cellar-1", None][0].site == "outside"


def test_one_field_can_hang_elsewhere(owner: TestClient, engine: Engine, heard: None, cave: str) -> None:
    with engine.begin() as db:
        other = a_place(db, "Cold fridge")
    owner.post("/probes/cellar-1/place", data={"place": cave, "since": "first"})
    owner.post("/probes/cellar-1/place", data={"place": other, "since": "first", "field": "humidity", "site": "air"})
    known = facts_of(engine)
    assert [where(known, field) for field in ("humidity", "temperature")] == [other, cave]
    assert "in Cold fridge" in owner.get("/probes/cellar-1").text


def test_taking_it_away_takes_its_fields_along(owner: TestClient, engine: Engine, heard: None, cave: str) -> None:
    owner.post("/probes/cellar-1/place", data={"place": cave, "since": "first"})
    owner.post("/probes/cellar-1/place", data={"place": cave, "since": "first", "field": "humidity", "site": "surface"})
    owner.post("/probes/cellar-1/take-away")
    known = facts_of(engine)
    assert [where(known, field) for field in ("humidity", "temperature")] == [None, None]
    assert "It hangs in no place." in owner.get("/probes/cellar-1").text


def test_a_corrected_unit_mends_what_came_before(owner: TestClient, engine: Engine, heard: None) -> None:
    assert "54.0 °C" in owner.get("/probes/shed/air").text
    texts = {"field": "/air/temperature", "meaning": "temperature|degF", "since": "first"}
    assert owner.post("/probes/shed/air/field", data=texts).status_code == 303
    # 54 F is 12.2 C by NIST SP 811 (2008), B.8.
    page = owner.get("/probes/shed/air").text
    assert "Temperature 12.2 °C" in page
    assert "/air/temperature: temperature, °F." in page
    setting = facts_of(engine).field_settings["shed/air", "/air/temperature"][0]
    assert (setting.quantity, setting.unit, setting.valid_from_at) == ("temperature", "degF", START_AT)


def test_a_field_is_left_out_and_taken_up_again(owner: TestClient, engine: Engine, heard: None) -> None:
    texts = {"field": "/air/temperature", "since": "now"}
    owner.post("/probes/shed/air/field", data={**texts, "meaning": "ignore"})
    assert "Left out" in owner.get("/probes/shed/air").text
    assert 'value="ignore" selected' in owner.get("/probes/shed/air?do=field&field=/air/temperature").text
    owner.post("/probes/shed/air/field", data={**texts, "meaning": ""})
    assert "Left out" not in owner.get("/probes/shed/air").text


def test_a_meaning_that_there_is_not_is_refused(owner: TestClient, engine: Engine, heard: None) -> None:
    texts = {"field": "/air/temperature", "since": "now", "meaning": "temperature|%RH"}
    assert owner.post("/probes/shed/air/field", data=texts).status_code == 422
    assert owner.post("/probes/shed/air/field", data={**texts, "field": "/other"}).status_code == 404


def test_a_new_sensor_counts_as_not_checked(owner: TestClient, engine: Engine, heard: None) -> None:
    with engine.begin() as db:
        a_calibration(db, "cellar-1", "humidity", offset=-3)
    assert "checked 16 May 2025" in owner.get("/probes/cellar-1").text
    owner.post("/probes/cellar-1/sensor", data={"since": "at", "since_at": "2026-03-02T06:05"})
    known = facts_of(engine).calibrations
    new = known["cellar-1", "humidity"][-1]
    assert (new.offset, new.gain, new.method, new.valid_from_at) == (0.0, 1.0, NEW_SENSOR, at(5))
    assert new.uncertainty == UNCHECKED_U["humidity"]
    assert known["cellar-1", "temperature"][-1].method == NEW_SENSOR
    page = owner.get("/probes/cellar-1").text
    assert "not checked yet" in page
    assert "checked 16 May 2025" not in page


@pytest.mark.parametrize(
    ("every", "kept", "said"),
    [("15", 900.0, "at the latest every 15 min"), ("1,5 h", 5_400.0, "every 1 h 30 min"), ("", None, "its own pace")],
)
def test_a_promise_is_kept(
    owner: TestClient, engine: Engine, heard: None, every: str, kept: float | None, said: str
) -> None:
    assert owner.post("/probes/cellar-1/pace", data={"every": every}).status_code == 303
    with reading(engine) as db:
        assert choice(db, "cellar-1").at_latest_every_s == kept
    assert said in owner.get("/probes/cellar-1").text


@pytest.mark.parametrize(
    ("every", "said"),
    [
        ("2 d", "from 10 seconds to 1 day, got 2 d"),
        ("5 s", "from 10 seconds"),
        ("soon", "The time is not a number with a unit, got &#39;soon&#39;"),
    ],
)
def test_a_promise_that_promises_nothing_is_refused(
    owner: TestClient, engine: Engine, heard: None, every: str, said: str
) -> None:
    answer = owner.post("/probes/cellar-1/pace", data={"every": every})
    assert answer.status_code == 422
    assert said in answer.text


def test_a_time_is_pointed_at(owner: TestClient, engine: Engine, heard: None) -> None:
    form = owner.get("/probes/shed/air?do=time").text
    assert "/made: 1772431200" in form
    assert owner.post("/probes/shed/air/time", data={"pointer": "/made", "form": "s"}).status_code == 303
    with reading(engine) as db:
        kept = choice(db, "shed/air")
    assert (kept.time_pointer, kept.time_form) == ("/made", "s")
    # 1772431200 is 2026-03-02 06:00 UTC by date -d @1772431200.
    assert "taken 2 March 06:00" in owner.get("/probes/shed/air").text


@pytest.mark.parametrize(
    ("texts", "said"),
    [
        ({"pointer": "other", "other": ""}, "Write where the time stands"),
        ({"pointer": "other", "other": "made"}, "is no JSON Pointer to a field: it must start with /"),
        ({"pointer": "other", "other": "/~7"}, "is no JSON Pointer"),
        ({"pointer": "other", "other": "/" + "x" * 200}, "at most 200 characters; this has 201"),
        ({"pointer": "/made", "form": "weeks"}, "Take one of the forms"),
    ],
)
def test_a_time_that_is_nowhere_is_refused(
    owner: TestClient, engine: Engine, heard: None, texts: dict[str, str], said: str
) -> None:
    answer = owner.post("/probes/shed/air/time", data=texts)
    assert answer.status_code == 422
    assert said in answer.text


def test_a_name_is_given_and_taken_back(owner: TestClient, engine: Engine, heard: None) -> None:
    owner.post("/probes/shed/air/name", data={"name": " The  <i>shed</i> "})
    page = owner.get("/probes/shed/air").text
    assert "<h1>The &lt;i&gt;shed&lt;/i&gt;</h1>" in page
    assert "<code>shed/air</code>" in page
    owner.post("/probes/shed/air/name", data={"name": ""})
    assert "<h1>shed/air</h1>" in owner.get("/probes/shed/air").text
    assert owner.post("/probes/shed/air/name", data={"name": "x" * 81}).status_code == 422


def test_what_was_put_away_is_brought_back_by_placing_it(
    owner: TestClient, engine: Engine, heard: None, cave: str
) -> None:
    owner.post("/probes/cellar-1/put-away")
    assert "Put away" in owner.get("/probes/cellar-1").text
    owner.post("/probes/cellar-1/place", data={"place": cave, "since": "first"})
    with reading(engine) as db:
        assert choice(db, "cellar-1").dismissed_at is None
    owner.post("/probes/cellar-1/put-away")
    owner.post("/probes/cellar-1/bring-back")
    with reading(engine) as db:
        assert choice(db, "cellar-1").dismissed_at is None


def test_strangers_names_work_like_any_other(owner: TestClient, engine: Engine, settings: Settings, cave: str) -> None:
    for name, path in (("a/../b", "~YS8uLi9i"), ("50%/?#", "50%25/%3F%23"), ("x/place", "x/place")):
        keep(settings, [an_arrival(probe=name)])
        assert owner.get(f"/probes/{path}").status_code == 200
        answer = owner.post(f"/probes/{path}/place", data={"place": cave, "since": "first"})
        assert answer.headers["location"] == f"/probes/{path}"
        assert facts_of(engine).placements[name, None][0].place_id == cave


def test_a_reading_kept_by_a_probe_for_hours_counts_as_its_first(
    owner: TestClient, engine: Engine, settings: Settings, cave: str
) -> None:
    keep(settings, [an_arrival(a_sample(-300), minute=0)])
    owner.post("/probes/cellar-1/place", data={"place": cave, "since": "first"})
    assert facts_of(engine).placements["cellar-1", None][0].valid_from_at == at(-300)


def test_an_instrument_read_by_eye_has_a_page(guest: TestClient, engine: Engine, settings: Settings, cave: str) -> None:
    name = f"typed/{cave}/dial"
    with engine.begin() as db:
        a_placement(db, name, cave)
    keep(settings, [an_arrival(probe=name)])
    page = guest.get(f"/probes/{name}").text
    assert "<h1>dial</h1>" in page
    assert "Its last messages" not in page
