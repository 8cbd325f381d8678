"""The first page: what stands on its cards, and when it is sent again."""

import re
from datetime import timedelta

import pytest
from fastapi.testclient import TestClient
from sqlalchemy import Engine, insert

from collector.clock import ManualClock
from collector.prepare import prepare
from collector.records.life import sign
from collector.records.places import change_place
from collector.records.tables import probe_setting
from collector.settings import Settings
from tests.dashboard.conftest import NOW_AT
from tests.dashboard.dairy import a_place, a_placement, a_target, a_warning, keep
from tests.dashboard.places_seen import messages
from tests.dashboard.test_residents import TOMME, a_style, a_wheel_row


def words_of(page: str) -> str:
    """The page's words without its tags."""
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", page))


@pytest.fixture
def fridge(settings: Settings, engine: Engine) -> str:
    """A fridge with a target and a probe that tells 12 degC and 88 %."""
    with engine.begin() as db:
        place_id = a_place(db)
        a_target(db, place_id)
        a_placement(db, "cellar-1", place_id)
    keep(settings, messages())
    sign(engine, "collector", NOW_AT, {})
    return place_id


def test_the_first_page_is_the_caves(guest: TestClient) -> None:
    assert guest.get("/").headers["location"] == "/caves"


def test_without_any_place_it_begins_friendly(owner: TestClient, guest: TestClient) -> None:
    assert "Name your first cave" in owner.get("/caves").text
    assert "Ask the owner" in guest.get("/caves").text


def test_a_card_says_all_right_and_each_value_with_how_sure_it_is(guest: TestClient, fridge: str) -> None:
    said = words_of(guest.get("/caves").text)
    assert "Lower fridge All right Temperature 12.0 °C ± 0.3" in said
    assert "Humidity 88 % ± 3, not checked yet" in said
    # Dew point of 12 degC at 88 %: 10.07 degC, from Magnus' formula (WMO-No. 8, annex 4.B), so 1.9 K below the air.
    assert "Wheels above the dew point 1.9 °C" in said
    assert "dew point 10.1 °C" in said
    assert "by probe cellar-1" in said
    assert "1 min ago" in said


def test_each_strip_is_told_to_those_who_do_not_see_it(guest: TestClient, fridge: str) -> None:
    page = guest.get("/caves").text
    assert 'aria-label="Temperature 12.0 °C, target 10 to 14, last day 12.0 °C to 12.0 °C"' in page
    assert 'aria-label="Humidity 88 %, target 82 to 92, last day 88 % to 88 %"' in page


def test_the_card_says_for_whom(guest: TestClient, engine: Engine, fridge: str) -> None:
    with engine.begin() as db:
        a_wheel_row(db, fridge, a_style(db, **TOMME), pieces=3)
    assert "Fine for tomme (3)." in guest.get("/caves").text


def test_an_open_warning_stands_on_its_card_with_what_to_do(guest: TestClient, engine: Engine, fridge: str) -> None:
    with engine.begin() as db:
        warning_id = a_warning(db, place_id=fridge)
        a_warning(db, "stuck", probe="cellar-1", field="humidity", facts={})
    page = guest.get("/caves").text
    assert "Too damp for 5 h" in page
    assert f'href="/warnings/{warning_id}"' in page
    assert "Try first: Empty the tray" in page
    assert "Probe cellar-1 (Lower fridge): stuck" in page or "Probe cellar-1 (Lower fridge)" in page


def test_a_silent_probe_is_not_called_all_right(guest: TestClient, clock: ManualClock, fridge: str) -> None:
    clock.advance(timedelta(hours=3))
    said = words_of(guest.get("/caves").text)
    assert "No word from the probe since 14:09" in said
    assert "All right" not in said


def test_places_stand_in_order_with_boxes_in_their_cave_and_outside_last(
    guest: TestClient, engine: Engine, settings: Settings
) -> None:
    prepare(settings)
    with engine.begin() as db:
        a_place(db, "Outside", "outside", position=0)
        cellar = a_place(db, "Cellar", position=1)
        a_place(db, "Box in the cellar", "box", position=5, parent_id=cellar)
        a_place(db, "Fridge", position=2)
        gone = a_place(db, "Old shed", position=3)
        change_place(db, gone, closed_at=NOW_AT)
    page = guest.get("/caves").text
    names = re.findall(r'<h2><a href="/caves/[^"]+">([^<]+)<', page)
    assert names == ["Cellar", "Box in the cellar", "Fridge", "Outside"]
    assert page.count("inner-1") == 1


def test_cards_are_shown_before_anything_was_collected(guest: TestClient, engine: Engine, settings: Settings) -> None:
    prepare(settings)
    with engine.begin() as db:
        a_place(db)
    said = words_of(guest.get("/caves").text)
    assert "Nothing has been collected here yet." in said
    assert "Nothing is measured here yet" in said


def test_a_silent_collector_is_told_with_since_when(guest: TestClient, clock: ManualClock, fridge: str) -> None:
    assert "Nothing has been collected" not in guest.get("/caves").text
    clock.advance(timedelta(seconds=61))
    assert "Nothing has been collected since 14:10." in guest.get("/caves").text


def test_probes_that_wait_for_a_place_are_counted(
    guest: TestClient, engine: Engine, settings: Settings, fridge: str
) -> None:
    keep(settings, [*messages("new-1", hours=1), *messages("new-2", hours=1), *messages("put-aside", hours=1)])
    with engine.begin() as db:
        db.execute(insert(probe_setting), [{"probe": "put-aside", "name": "", "dismissed_at": NOW_AT,
                                            "time_pointer": "", "time_form": ""}])  # fmt: skip
    page = guest.get("/caves").text
    assert "2 probes wait for a place" in page
    assert 'href="/probes"' in page


def test_an_import_tells_how_far_it_is(guest: TestClient, engine: Engine, fridge: str) -> None:
    facts = {"read_bytes": 250, "file_bytes": 1000, "files_left": 2, "left_bytes": 5000}
    sign(engine, "import", NOW_AT - timedelta(seconds=3), facts)
    assert "25 % of this file, 2 more wait" in guest.get("/caves").text
    sign(engine, "import", NOW_AT, {**facts, "left_bytes": 0})
    assert "taken in" not in guest.get("/caves").text


def test_cards_are_sent_again_only_when_something_is_new(
    guest: TestClient, settings: Settings, engine: Engine, clock: ManualClock, fridge: str
) -> None:
    page = guest.get("/caves").text
    etag = re.search(r'data-etag="([^"]+)"', page)
    assert etag is not None
    tag = etag[1].replace("&#34;", '"')
    assert guest.get("/caves/cards", headers={"If-None-Match": tag}).status_code == 304
    keep(settings, messages(temperature_c=13.0, until_min_ago=0.5, hours=0.1))
    fresh = guest.get("/caves/cards", headers={"If-None-Match": tag})
    assert (fresh.status_code, "13.0 °C" in fresh.text) == (200, True)
    tag = fresh.headers["etag"]
    with engine.begin() as db:
        a_warning(db, place_id=fridge)
    fresh = guest.get("/caves/cards", headers={"If-None-Match": tag})
    assert fresh.status_code == 200
    clock.advance(timedelta(minutes=1))
    assert guest.get("/caves/cards", headers={"If-None-Match": fresh.headers["etag"]}).status_code == 200


def test_names_of_strangers_are_shown_as_text(guest: TestClient, engine: Engine, settings: Settings) -> None:
    with engine.begin() as db:
        place_id = a_place(db, "<b>Cellar</b>")
        a_placement(db, "<img src=x>", place_id)
    keep(settings, messages("<img src=x>", hours=1))
    page = guest.get("/caves").text
    assert "<img" not in page
    assert "&lt;b&gt;Cellar" in page


def test_fahrenheit_households_read_fahrenheit(guest: TestClient, owner: TestClient, fridge: str) -> None:
    chosen = {
        "dairy_name": "", "time_zone": "UTC", "temperature_unit": "F", "weight_unit": "lb", "date_form": "month-day",
        "base_address": "",
    }  # fmt: skip
    assert owner.post("/settings/household", data=chosen).status_code == 303
    said = words_of(guest.get("/caves").text)
    assert "53.6 °F ± 0.5" in said
    assert "target 50 to 57.2" in guest.get("/caves").text


def test_places_whose_readings_are_lost_are_no_first_start(owner: TestClient, engine: Engine) -> None:
    with engine.begin() as db:
        a_place(db)
    answer = owner.get("/caves")
    assert (answer.status_code, "Nothing is prepared here yet." in answer.text) == (503, True)
