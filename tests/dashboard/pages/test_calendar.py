"""The calendar's secret address: made, fetched by anybody who has it, ended."""

import re

from fastapi.testclient import TestClient
from icalendar import Calendar
from sqlalchemy import Engine

from collector.records.engine import open_records
from collector.records.places import change_place
from dashboard.wheels.bodies.sheets import WheelSheet
from tests.dashboard.book_kept import a_style, a_wheel, enter
from tests.dashboard.conftest import ADDRESS
from tests.dashboard.dairy import a_place


def address(page: str) -> str:
    found = re.search(r"data-secret>([^<]+)<", page)
    assert found
    return found[1].removeprefix(ADDRESS)


def test_a_calendar_without_a_sign_in_reads_the_days(helper: TestClient, stranger: TestClient, engine: Engine) -> None:
    with engine.begin() as db:
        wheel = a_wheel(db, "A1", 30, a_place(db), style_id=a_style(db))
    path = address(helper.post("/settings/calendar").text)
    answer = stranger.get(path)
    assert answer.headers["content-type"].startswith("text/calendar")
    events = Calendar.from_ical(answer.content).walk("VEVENT")
    assert "A1 is ripe" in {str(event["SUMMARY"]) for event in events}
    assert f"{ADDRESS}/wheels/{wheel}" in {str(event["URL"]) for event in events}
    assert stranger.get(path).content == answer.content
    assert "last fetched" in helper.get("/settings/calendar").text


def test_a_new_address_ends_the_old_one_and_the_page_never_shows_it_again(
    helper: TestClient, stranger: TestClient
) -> None:
    first = address(helper.post("/settings/calendar").text)
    second = address(helper.post("/settings/calendar").text)
    assert stranger.get(first).status_code == 404
    assert stranger.get(second).status_code == 200
    assert second not in helper.get("/settings/calendar").text
    assert helper.post("/settings/calendar/end").status_code == 303
    assert stranger.get(second).status_code == 404


def test_a_guessed_address_says_nothing(stranger: TestClient, guest: TestClient) -> None:
    assert stranger.get("/calendar/guessed.ics").status_code == 404
    assert guest.get("/settings/calendar").status_code == 403


def test_the_kept_text_follows_the_book_and_the_household(
    helper: TestClient, stranger: TestClient, engine: Engine
) -> None:
    with engine.begin() as db:
        place, style = a_place(db), a_style(db)
        a_wheel(db, "A1", 30, place, style_id=style)
    path = address(helper.post("/settings/calendar").text)
    assert b"A2 is ripe" not in stranger.get(path).content
    with engine.begin() as db:
        a_wheel(db, "A2", 30, place, style_id=style)
    assert b"A2 is ripe" in stranger.get(path).content
    with engine.begin() as db:
        change_place(db, place, name="Vault")
    assert b"Vault: " in stranger.get(path).content


def test_what_another_process_wrote_stands_in_the_next_fetch(
    helper: TestClient, stranger: TestClient, engine: Engine
) -> None:
    with engine.begin() as db:
        wheel = a_wheel(db, "A1", 30, a_place(db), style_id=a_style(db))
    path = address(helper.post("/settings/calendar").text)
    assert b"SUMMARY:A1 is ripe" in stranger.get(path).content
    other = open_records(engine.url.render_as_string(hide_password=False))
    with other.begin() as db:
        enter(db, WheelSheet(code="B7"), wheel_id=wheel)
    other.dispose()
    assert b"SUMMARY:B7 is ripe" in stranger.get(path).content
