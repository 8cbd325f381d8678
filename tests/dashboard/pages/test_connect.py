"""Connecting a probe: what it has to be told, and its first message."""

from collections.abc import Callable, Iterator
from contextlib import ExitStack
from pathlib import Path

import pytest
from fastapi.testclient import TestClient
from sqlalchemy import Engine, select

from collector.clock import ManualClock
from collector.intake.payloads import decode
from collector.readings.model import Arrival, Reject
from collector.records.engine import reading
from collector.records.tables import topic_filter
from collector.settings import Settings
from dashboard.addresses import own_address
from dashboard.app import create_app
from dashboard.probes.connecting import door, is_loopback, sample, topic_of
from dashboard.settings import DashboardSettings
from tests.builders import a_sample, an_arrival, ms
from tests.dashboard.conftest import signed_in
from tests.dashboard.dairy import a_place, a_placement, keep

PACK = b'[{"n":"temperature","u":"Cel","v":11.5}]'
SINCE = ms(0)


@pytest.fixture
def broker_owner(
    tmp_path: Path, settings: Settings, engine: Engine, clock: ManualClock
) -> Iterator[Callable[..., TestClient]]:
    """An owner's browser at a house with other settings."""
    with ExitStack() as stack:

        def at(**more: object) -> TestClient:
            other = settings.model_copy(update=more)
            return stack.enter_context(signed_in(create_app(other, DashboardSettings(), clock), engine, clock, "owner"))

        yield at


def test_an_owner_is_told_everything(owner: TestClient, engine: Engine, settings: Settings) -> None:
    page = owner.get("/probes/connect?name=cellar-front").text
    assert f"<code>{own_address()}</code>" in page
    assert "<code>1883</code>" in page
    assert "<code>probe</code>" in page
    assert settings.secret("probe-password").get_secret_value() in page
    assert "rindwatch/cellar-front/readings" in page
    assert "Waiting for the first message of cellar-front" in page


def test_the_address_is_never_that_of_every_machine(owner: TestClient, engine: Engine) -> None:
    assert "0.0.0.0" not in owner.get("/probes/connect?name=x").text


def test_a_helper_sees_no_password_and_a_guest_no_page(
    helper: TestClient, guest: TestClient, engine: Engine, settings: Settings
) -> None:
    page = helper.get("/probes/connect?name=x").text
    assert settings.secret("probe-password").get_secret_value() not in page
    assert "The owner can see the password here." in page
    assert guest.get("/probes/connect").status_code == 403


def test_a_broker_of_ones_own_has_passwords_of_its_own(
    broker_owner: Callable[..., TestClient], settings: Settings
) -> None:
    page = broker_owner(broker="broker.home.arpa:8883", broker_tls=True).get("/probes/connect?name=x").text
    assert "<code>broker.home.arpa</code>" in page
    assert "<code>8883</code>, with TLS" in page
    assert "a name and password of your own broker" in page
    assert "Show the password" not in page


def test_a_broker_on_this_machine_has_this_machines_address(settings: Settings) -> None:
    assert door(settings.model_copy(update={"broker": "localhost:1884"})).host == own_address()
    assert [is_loopback(host) for host in ("127.0.0.1", "::1", "localhost", "192.168.7.20", "shed")] == [True] * 3 + [
        False
    ] * 2


@pytest.mark.parametrize(
    ("broker", "host"),
    [
        ("broker:1883", "192.168.7.20"),  # one container's name for another
        ("127.0.0.1", "192.168.7.20"),
        ("broker.home.arpa", "broker.home.arpa"),
        ("192.168.7.9", "192.168.7.9"),
    ],
)
def test_in_a_container_a_probe_is_told_the_houses_address(settings: Settings, broker: str, host: str) -> None:
    assert door(settings.model_copy(update={"broker": broker, "own_address": "192.168.7.20"})).host == host


def test_a_name_without_dots_stays_where_this_machine_finds_its_own_address(settings: Settings) -> None:
    assert door(settings.model_copy(update={"broker": "shed:1883"})).host == "shed"


def test_a_door_that_is_only_open_inside_says_so(broker_owner: Callable[..., TestClient]) -> None:
    assert (
        "Only programs on this machine can reach it now"
        in broker_owner(listen="127.0.0.1").get("/probes/connect?name=x").text
    )


def test_the_sample_is_read_by_the_intakes_own_decoder() -> None:
    decoded = decode(topic_of("cellar-front"), sample("cellar-front").encode())
    assert decoded.probe == "cellar-front"
    assert [(r.field, r.value, r.quantity) for r in decoded.readings] == [
        ("temperature", 11.5, "temperature"), ("humidity", 88.0, "humidity"),
    ]  # fmt: skip
    assert decoded.refused == ()


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("a/b", "must not have / + or # in it, got a/b"),
        ("", "Give the probe a name"),
        ("x" * 61, "at most 60 characters; this has 61"),
    ],
)
def test_a_name_that_no_topic_can_hold_is_refused(owner: TestClient, engine: Engine, name: str, said: str) -> None:
    answer = owner.get("/probes/connect", params={"name": name})
    assert answer.status_code == 422
    assert said in answer.text
    assert f'value="{name}"' in answer.text


def test_the_first_message_is_shown_with_one_touch_for_each_place(
    owner: TestClient, engine: Engine, settings: Settings
) -> None:
    with engine.begin() as db:
        place_id = a_place(db)
    query = f"name=cellar-1&since={SINCE}"
    waiting = owner.get(f"/probes/connect/part?{query}")
    assert "Waiting for the first message of cellar-1" in waiting.text
    keep(settings, [an_arrival(a_sample(1, 11.5), payload=PACK), an_arrival(a_sample(1, 9.0), probe="kitchen")])
    tag = {"If-None-Match": waiting.headers["etag"]}
    heard = owner.get(f"/probes/connect/part?{query}", headers=tag).text
    assert "cellar-1 was heard" in heard
    assert "<strong>11.5 °C</strong>, temperature" in heard
    assert f'name="place" value="{place_id}"' in heard
    assert "kitchen" not in heard
    owner.post("/probes/cellar-1/place", data={"place": place_id, "since": "first"})
    assert "It measures in Lower fridge." in owner.get(f"/probes/connect?{query}").text


def test_what_was_heard_before_the_page_is_not_the_first_message(
    owner: TestClient, engine: Engine, settings: Settings
) -> None:
    keep(settings, [an_arrival(a_sample(-10))])
    assert "Waiting for the first message" in owner.get(f"/probes/connect/part?name=cellar-1&since={SINCE}").text


def test_what_could_not_be_understood_is_said_at_once(owner: TestClient, engine: Engine, settings: Settings) -> None:
    keep(settings, [
        Reject("rindwatch/cellar-1/readings", "not JSON: Expecting value", b"11,5", ms(2)),
        Reject("rindwatch/other/readings", "empty", b"", ms(2)),
    ])  # fmt: skip
    part = owner.get(f"/probes/connect/part?name=cellar-1&since={SINCE}").text
    assert "not JSON: Expecting value (1)" in part
    assert "empty" not in part


def test_another_devices_topic_is_added_and_waited_for(owner: TestClient, engine: Engine, settings: Settings) -> None:
    answer = owner.post("/probes/topics", data={"filter": "shed/#"})
    assert answer.headers["location"].startswith("/probes/connect?topic=shed%2F%23&since=")
    with reading(engine) as db:
        assert db.execute(select(topic_filter.c.filter)).scalars().all() == ["shed/#"]
    assert "Waiting for the first message of shed/#" in owner.get(answer.headers["location"]).text
    keep(settings, [Arrival("shed/air", "shed/air", ms(1), (a_sample(1, 9.0),))])
    assert "shed/air was heard" in owner.get(f"/probes/connect?topic=shed/%23&since={SINCE}").text
    assert "shed/#" in owner.get("/probes/topics").text


def test_a_filter_that_hears_everything_is_asked_about(owner: TestClient, engine: Engine) -> None:
    answer = owner.post("/probes/topics", data={"filter": "#"})
    assert answer.status_code == 422
    assert "# hears every device at the broker" in answer.text
    assert owner.post("/probes/topics", data={"filter": "#", "sure": "yes"}).status_code == 303


def test_a_wrong_filter_keeps_its_text(owner: TestClient, engine: Engine) -> None:
    answer = owner.post("/probes/topics", data={"filter": 'a#/"b'})
    assert answer.status_code == 422
    assert 'value="a#/&#34;b"' in answer.text
    assert owner.get("/probes/topics").text.count("Stop listening") == 0


def test_a_filter_is_taken_back(owner: TestClient, engine: Engine) -> None:
    owner.post("/probes/topics", data={"filter": "shed/#"})
    owner.post("/probes/topics", data={"filter": "shed/#"})
    assert owner.post("/probes/topics/remove", data={"filter": "shed/#"}).status_code == 303
    assert owner.post("/probes/topics/remove", data={"filter": "shed/#"}).status_code == 404


def test_a_probe_in_place_is_told_as_such(owner: TestClient, engine: Engine, settings: Settings) -> None:
    with engine.begin() as db:
        a_placement(db, "cellar-1", a_place(db))
    keep(settings, [an_arrival(a_sample(1))])
    page = owner.get(f"/probes/connect?name=cellar-1&since={SINCE}").text
    assert "It measures in Lower fridge." in page
    assert "Where does it hang?" not in page
