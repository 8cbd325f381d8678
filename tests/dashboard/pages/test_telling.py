"""The page of how warnings reach people: ways, tests, quiet hours, snoozes."""

import json
import re
from datetime import timedelta

import pytest
from fastapi.testclient import TestClient
from sqlalchemy import Engine, insert, select

from collector.notify.channels import add_channel, channels, note_failed
from collector.notify.holding import QuietHours
from collector.notify.wishes import wishes_of
from collector.records.columns import new_id
from collector.records.engine import reading
from collector.records.tables import outbox, person
from tests.collector.notify.servers import web_server
from tests.dashboard.conftest import NOW_AT
from tests.dashboard.dairy import a_place, a_warning

PATH = "/settings/warnings"


def person_of(engine: Engine, role: str) -> str:
    with reading(engine) as db:
        return str(db.execute(select(person.c.id).where(person.c.role == role)).scalar())


def test_without_a_way_the_page_says_that_nobody_is_reached(owner: TestClient) -> None:
    page = owner.get(PATH).text
    assert "No warning reaches anybody yet" in page
    assert "Who tells you when this machine itself is dead?" in page
    assert "Nobody yet" in page


def test_a_webhook_is_added_tested_and_removed(owner: TestClient, engine: Engine) -> None:
    with web_server() as server:
        url = f"http://127.0.0.1:{server.port}/hook?token=very-secret"
        answer = owner.post(f"{PATH}/add/webhook", data={"url": url, "name": "Workshop lamp"})
        assert answer.status_code == 303
        way_id = answer.headers["location"].partition("#way-")[2]
        once = owner.get(PATH).text
        secret = re.search(r"shown only this once: (\S+)</p>", once)
        assert secret is not None
        page = owner.get(PATH).text
        assert "Workshop lamp" in page
        assert "Never tried" in page
        assert "very-secret" not in once + page
        assert secret[1] not in page
        owner.post(f"{PATH}/ways/{way_id}/test")
        assert json.loads(server.requests[0].body)["kind"] == "test"
        page = owner.get(PATH).text
        assert "A test was sent on Workshop lamp." in page
        assert "Worked 14:10" in page
        server.status = 500
        owner.post(f"{PATH}/ways/{way_id}/test")
    page = owner.get(PATH).text
    assert "The test on Workshop lamp did not go out: 127.0.0.1 answered 500." in page
    assert "Trouble since 14:10" in page
    owner.post(f"{PATH}/ways/{way_id}/remove")
    assert "Workshop lamp" not in owner.get(PATH).text.partition("<main")[2]
    with reading(engine) as db:
        assert [row.options for row in channels(db, removed=True)] == [{}]
    assert owner.post(f"{PATH}/ways/{way_id}/test").status_code == 404


@pytest.mark.parametrize("path", ["email", "service", "webhook", "devices", "heartbeat"])
def test_each_way_says_what_leaves_the_house_before_it_is_added(owner: TestClient, path: str) -> None:
    page = owner.get(f"{PATH}/add/{path}")
    assert page.status_code == 200
    assert "What leaves the house:" in page.text


def test_a_refused_address_is_said_and_a_password_is_not_sent_back(owner: TestClient) -> None:
    typed = {"to": "nobody", "from": "cave@example.org", "host": "smtp.example.org", "password": "very-secret"}
    answer = owner.post(f"{PATH}/add/email", data=typed)
    assert answer.status_code == 422
    assert "It must be one e-mail address" in answer.text
    assert "cave@example.org" in answer.text
    assert "very-secret" not in answer.text
    assert owner.get(f"{PATH}/add/pigeon").status_code == 404


def test_a_heartbeat_stands_apart_and_is_tried(owner: TestClient) -> None:
    with web_server() as server:
        answer = owner.post(f"{PATH}/add/heartbeat", data={"url": f"http://127.0.0.1:{server.port}/beat"})
        owner.post(f"{PATH}/ways/{answer.headers['location'].partition('#way-')[2]}/test")
        # Once when it is added, once by hand.
        assert [(request.method, request.path) for request in server.requests] == [("GET", "/beat")] * 2
    page = owner.get(PATH).text
    assert "Nobody yet" not in page
    assert "No warning reaches anybody yet" in page


def test_a_way_that_is_switched_off_takes_nothing(owner: TestClient, engine: Engine) -> None:
    with engine.begin() as db:
        way_id = add_channel(db, "webhook", "hook", {"url": "https://example.org/x"}, NOW_AT)
    owner.post(f"{PATH}/ways/{way_id}/pause")
    assert "Switched off" in owner.get(PATH).text
    with reading(engine) as db:
        assert not channels(db)[0].takes("urgent")
    owner.post(f"{PATH}/ways/{way_id}/resume")
    with reading(engine) as db:
        assert channels(db)[0].takes("urgent")


def test_what_could_not_be_delivered_for_a_day_stands_there(owner: TestClient, engine: Engine) -> None:
    with engine.begin() as db:
        way_id = add_channel(db, "webhook", "hook", {"url": "https://example.org/x"}, NOW_AT)
        note_failed(db, way_id, "example.org answered 503", NOW_AT - timedelta(days=1))
        row = {
            "id": new_id(), "channel": way_id, "kind": "news", "severity": "warn", "title": "Lower fridge: too damp",
            "body": "", "next_at": NOW_AT,
            "created_at": NOW_AT - timedelta(days=2), "given_up_at": NOW_AT - timedelta(days=1),
            "trouble": "example.org answered 503",
        }  # fmt: skip
        db.execute(insert(outbox), [row])
    page = owner.get(PATH).text
    assert "Not delivered for a day" in page
    assert "Lower fridge: too damp" in page


def test_a_helper_sees_his_own_wishes_and_no_ways(helper: TestClient, engine: Engine) -> None:
    with engine.begin() as db:
        way_id = add_channel(db, "webhook", "The lamp", {"url": "https://example.org/x"}, NOW_AT)
    page = helper.get(PATH).text
    assert "Your quiet hours" in page
    assert "The lamp" not in page
    assert helper.post(f"{PATH}/ways/{way_id}/test").status_code == 403


def test_quiet_hours_are_kept_for_the_one_who_set_them(helper: TestClient, owner: TestClient, engine: Engine) -> None:
    helper.post(f"{PATH}/quiet", data={"on": "yes", "from": "21:00", "to": "06:30", "urgent": "yes"})
    with reading(engine) as db:
        assert wishes_of(db, person_of(engine, "helper"), NOW_AT).quiet == QuietHours(21 * 60, 390, True)
        assert wishes_of(db, person_of(engine, "owner"), NOW_AT).quiet is None
    assert 'value="21:00"' in helper.get(PATH).text
    refused = helper.post(f"{PATH}/quiet", data={"on": "yes", "from": "21:00", "to": "21:00"})
    assert refused.status_code == 422
    assert "must end at another time" in refused.text
    helper.post(f"{PATH}/quiet", data={"from": "21:00", "to": "06:30"})
    with reading(engine) as db:
        assert wishes_of(db, person_of(engine, "helper"), NOW_AT).quiet is None


def test_a_warning_is_snoozed_for_oneself_and_woken(helper: TestClient, owner: TestClient, engine: Engine) -> None:
    with engine.begin() as db:
        warning_id = a_warning(db, place_id=a_place(db))
    page = f"/warnings/{warning_id}"
    assert "Snooze it" in helper.get(page).text
    answer = helper.post(f"/snoozes/on/{warning_id}", data={"hours": "4", "whom": "me", "back": page})
    assert (answer.status_code, answer.headers["location"]) == (303, page)
    shown = helper.get(page).text
    assert "Nothing more of it until 18:10." in shown
    assert "Snoozed until 18:10, only for you" in shown
    assert "Lower fridge: too damp" in helper.get(PATH).text
    assert "Snoozed until" not in owner.get(page).text
    with reading(engine) as db:
        [kept] = wishes_of(db, None, NOW_AT).snoozes
    assert (kept.rule, kept.person_id) == ("too_damp", person_of(engine, "helper"))
    wake = re.search(r"/snoozes/[^/\"]+/end", shown)
    assert wake is not None
    assert owner.post(wake[0]).status_code == 404
    assert helper.post(wake[0]).status_code == 303
    assert "Snoozed until" not in helper.get(page).text


def test_a_snooze_for_everybody_says_who_made_it(helper: TestClient, owner: TestClient, engine: Engine) -> None:
    with engine.begin() as db:
        warning_id = a_warning(db, place_id=a_place(db))
    helper.post(f"/snoozes/on/{warning_id}", data={"hours": "24", "whom": "all"})
    assert "for everybody, by The helper" in owner.get(f"/warnings/{warning_id}").text
    assert helper.post(f"/snoozes/on/{warning_id}", data={"hours": "5"}).status_code == 422
    assert helper.post("/snoozes/on/none", data={"hours": "4"}).status_code == 404


def test_a_guest_neither_snoozes_nor_sees_the_page(guest: TestClient, engine: Engine) -> None:
    with engine.begin() as db:
        warning_id = a_warning(db, place_id=a_place(db))
    assert "Snooze it" not in guest.get(f"/warnings/{warning_id}").text
    assert guest.get(PATH).status_code == 403
    assert PATH not in guest.get("/more").text


def test_the_page_is_reached_from_more_settings_and_warnings(owner: TestClient) -> None:
    for start in ("/more", "/settings", "/warnings"):
        assert f'href="{PATH}"' in owner.get(start).text
