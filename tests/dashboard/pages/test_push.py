"""What a phone asks about its own notifications."""

from pathlib import Path

import pytest
from fastapi.testclient import TestClient
from sqlalchemy import Engine, select

from collector.clock import ManualClock
from collector.notify.channels import change_channel, channels, remove_channel
from collector.notify.push_keys import TEST_CA
from collector.records.engine import reading
from collector.records.tables import person, session
from dashboard.people import sessions
from dashboard.people.links import issue_link
from dashboard.telling.phones import belongs_to
from tests.collector.notify.phone import Phone, certificate, unbase64url
from tests.collector.notify.servers import web_server
from tests.dashboard.conftest import NOW_AT

PHONE = "/settings/warnings/phone"
ENDPOINT = "https://push.example.org/send/abc"


def key_of(client: TestClient) -> str:
    return str(client.post(f"{PHONE}/key", json={}).json()["key"])


def state_of(client: TestClient, key: str = "") -> object:
    return client.post(f"{PHONE}/compare", json={"endpoint": ENDPOINT, "key": key or key_of(client)}).json()["state"]


def keep(client: TestClient, endpoint: str = ENDPOINT) -> int:
    return client.post(PHONE, json={"subscription": Phone().subscription(endpoint)}).status_code


def test_the_key_is_a_point_as_browsers_want_it(helper: TestClient) -> None:
    # RFC 8292, section 3.2: the uncompressed form of a P-256 point, 65 bytes that begin with 4.
    key = unbase64url(key_of(helper))
    assert (len(key), key[0]) == (65, 4)
    assert unbase64url(key_of(helper)) == key


def test_a_phone_is_off_until_it_is_chosen_and_off_again(helper: TestClient, engine: Engine) -> None:
    assert state_of(helper) == "unknown"
    assert keep(helper) == 200
    assert state_of(helper) == "on"
    with reading(engine) as db:
        [way] = channels(db)
    assert (way.kind, way.options["origin"]) == ("push", "http://192.168.7.20:8000")
    assert helper.post(f"{PHONE}/end", json={"endpoint": ENDPOINT}).json() == {"state": "off"}
    assert state_of(helper) == "off"


def test_a_phone_whose_subscription_died_is_asked_to_make_a_new_one(helper: TestClient, engine: Engine) -> None:
    keep(helper)
    with engine.begin() as db:
        remove_channel(db, channels(db)[0].id, "this phone has ended its subscription", NOW_AT)
    assert state_of(helper) == "unknown"


def test_a_subscription_made_with_another_key_counts_as_none(helper: TestClient) -> None:
    keep(helper)
    assert state_of(helper, "another") == "unknown"


def test_a_phone_that_another_person_chose_stays_that_persons(helper: TestClient, owner: TestClient) -> None:
    keep(helper)
    assert state_of(owner) == "other"
    assert owner.post(f"{PHONE}/end", json={"endpoint": ENDPOINT}).status_code == 404
    keep(owner)
    assert state_of(owner) == "on"


def test_a_phone_removed_on_the_page_does_not_come_back_by_itself(owner: TestClient, engine: Engine) -> None:
    keep(owner)
    with reading(engine) as db:
        way_id = channels(db)[0].id
    owner.post(f"/settings/warnings/ways/{way_id}/remove")
    assert state_of(owner) == "off"


def test_a_forged_endpoint_in_the_house_is_refused(helper: TestClient) -> None:
    answer = helper.post(PHONE, json={"subscription": Phone().subscription("https://192.168.7.1/admin")})
    assert answer.status_code == 422
    assert answer.json()["said"] == "The address for notifications must lie in the open internet."


@pytest.mark.parametrize("asked", [{}, {"subscription": 3}, {"subscription": {"endpoint": ENDPOINT}}])
def test_half_a_subscription_is_refused(helper: TestClient, asked: object) -> None:
    assert helper.post(PHONE, json=asked).status_code == 422


def test_a_test_reaches_the_phone_sealed(
    helper: TestClient, engine: Engine, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    ca, ca_key = certificate(tmp_path)
    monkeypatch.setenv(TEST_CA, str(ca))
    phone = Phone()
    with web_server((ca, ca_key)) as server:
        server.status = 201
        endpoint = f"https://127.0.0.1:{server.port}/send/abc"
        helper.post(PHONE, json={"subscription": phone.subscription(endpoint)})
        answer = helper.post(f"{PHONE}/test", json={"endpoint": endpoint})
        assert answer.json() == {"worked": True, "reason": ""}
        assert b"this is a test" in phone.read(server.requests[0].body)
        with engine.begin() as db:
            change_channel(db, channels(db)[0].id, person_id=None)
        assert helper.post(f"{PHONE}/test", json={"endpoint": endpoint}).status_code == 404


def test_a_guest_gets_no_notifications(guest: TestClient) -> None:
    assert keep(guest) == 403


def session_of(engine: Engine, role: str) -> str:
    with reading(engine) as db:
        query = select(session.c.id).join(person, person.c.id == session.c.person_id).where(person.c.role == role)
        return str(db.execute(query).scalar_one())


def test_signing_a_phone_out_ends_its_notifications_and_says_so(helper: TestClient, engine: Engine) -> None:
    keep(helper)
    answer = helper.post("/sign-out")
    assert "Warnings no longer come to this phone" in helper.get(answer.headers["location"]).text
    with reading(engine) as db:
        [way] = channels(db, removed=True)
    assert (way.options, way.removed_why.endswith("who signed it out")) == ({}, True)


def test_signing_another_phone_out_ends_that_phones_notifications_alone(owner: TestClient, engine: Engine) -> None:
    keep(owner)
    with engine.begin() as db:
        who = db.execute(select(person.c.id).where(person.c.role == "owner")).scalar_one()
        lost = sessions.open_session(db, who, "a lost phone", NOW_AT)
        lost_id = db.execute(select(session.c.id).where(session.c.device == "a lost phone")).scalar_one()
    keep(owner, "https://push.example.org/send/lost")
    with engine.begin() as db:
        belongs_to(db, "https://push.example.org/send/lost", lost_id)
    assert lost
    owner.post(f"/settings/sign-ins/{lost_id}/end")
    assert "Warnings no longer go there." in owner.get("/settings").text
    assert state_of(owner) == "on"
    with reading(engine) as db:
        assert len(channels(db)) == 1


def test_a_phone_that_signs_in_anew_takes_its_notifications_along(owner: TestClient, engine: Engine) -> None:
    keep(owner)
    with engine.begin() as db:
        belongs_to(db, ENDPOINT, "an older sign-in")
    assert state_of(owner) == "on"
    with reading(engine) as db:
        assert channels(db)[0].options["session"] == session_of(engine, "owner")


def test_a_new_password_by_link_ends_the_notifications_of_every_phone(owner: TestClient, engine: Engine) -> None:
    keep(owner)
    with reading(engine) as db:
        who = str(db.execute(select(person.c.id).where(person.c.role == "owner")).scalar_one())
    path = issue_link(engine, ManualClock(NOW_AT), who)
    owner.post(path, data={"name": "Keeper", "password": "long enough now", "again": "long enough now"})
    with reading(engine) as db:
        assert channels(db) == []
