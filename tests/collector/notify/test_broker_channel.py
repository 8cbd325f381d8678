"""Other devices in the house: an event that is not kept, states that are."""

import json
import os
from collections.abc import Iterator
from pathlib import Path

import pytest

from collector.errors import WarningNotSent
from collector.notify import broker_channel
from collector.notify.broker_channel import BrokerChannel
from tests.collector.notify.broker import PROGRAM, listener, mosquitto
from tests.collector.notify.servers import silent_server, wait_until
from tests.collector.notify.test_channel_contract import a_message

pytestmark = pytest.mark.mosquitto


@pytest.fixture
def port(tmp_path: Path) -> Iterator[int]:
    if PROGRAM is None:
        assert os.environ.get("CI") != "true", "no Mosquitto: apt-get install mosquitto"
        pytest.skip("no Mosquitto on this machine")
    with mosquitto(tmp_path) as running:
        yield running


def channel_to(port: int) -> BrokerChannel:
    return BrokerChannel("devices", {"host": "127.0.0.1", "port": port})


def test_a_state_is_kept_for_who_comes_later(port: int) -> None:
    channel_to(port).show({"lower": {"place": "Lower fridge", "all_right": False}, "cellar": {"all_right": True}})
    with listener(port, "rindwatch/-/state/#") as heard:
        wait_until(lambda: len(heard) == 2)
    assert {topic: json.loads(payload)["all_right"] for topic, payload, _ in heard} == {
        "rindwatch/-/state/lower": False, "rindwatch/-/state/cellar": True,
    }  # fmt: skip
    assert all(retained for _, _, retained in heard)


def test_an_event_is_not_kept(port: int) -> None:
    channel_to(port).send(a_message())
    channel_to(port).show({"lower": {"all_right": True}})
    with listener(port, "rindwatch/-/#") as heard:
        wait_until(lambda: heard)
    assert [topic for topic, _, _ in heard] == ["rindwatch/-/state/lower"]


def test_the_state_of_a_place_that_is_gone_is_taken_away(port: int) -> None:
    channel_to(port).show({"lower": {"all_right": True}, "cellar": {"all_right": True}})
    channel_to(port).show({"lower": None})
    with listener(port, "rindwatch/-/state/#") as heard:
        wait_until(lambda: heard)
    assert [topic for topic, _, _ in heard] == ["rindwatch/-/state/cellar"]


def test_a_broker_that_never_answers_is_left(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(broker_channel, "PATIENCE_S", 0.3)
    with silent_server() as silent, pytest.raises(WarningNotSent, match="the broker does not answer"):
        channel_to(silent).send(a_message())


def test_a_broker_that_refuses_us_is_told(tmp_path: Path) -> None:
    if PROGRAM is None:
        pytest.skip("no Mosquitto on this machine")
    with mosquitto(tmp_path, anonymous=False) as running, pytest.raises(WarningNotSent, match="the broker refuses us"):
        channel_to(running).send(a_message())
