"""A topic that was taken back is heard no more, whether the collector was there or away."""

import threading
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import pytest
from paho.mqtt.client import Client, MQTTMessage
from paho.mqtt.enums import CallbackAPIVersion

from collector.clock import ManualClock, SystemClock
from collector.intake.address import COLLECTOR_USER, PROBE_USER, BrokerAddress
from collector.intake.client import Connection
from collector.intake.intake import Intake
from collector.settings import Settings
from tests.brokers import Broker, wait_for
from tests.builders import START_AT
from tests.contract.memory_store import MemoryStore


class Picked:
    """Filters that a test changes."""

    def __init__(self, *filters: str) -> None:
        self.filters: tuple[str, ...] = filters
        self.hints: dict[str, object] = {}


def a_message(packet_id: int, topic: str) -> MQTTMessage:
    message = MQTTMessage(packet_id, topic.encode())
    message.payload, message.qos = b'{"temperature": 11.5}', 1
    return message


def probes(store: MemoryStore) -> set[str]:
    return {probe for probe, _, _ in store.readings}


def test_what_the_session_still_has_is_acknowledged_and_not_kept() -> None:
    store = MemoryStore()
    intake = Intake(store, ManualClock(START_AT + timedelta(hours=2)), Picked("shed/#"), lambda _s, _r: None)  # type: ignore[arg-type]
    for number, topic in enumerate(["shed/air", "attic/air", "rindwatch/cellar-1/readings", "shed"], 1):
        intake.take(a_message(number, topic))
    assert [packet_id for packet_id, _ in intake.commit()] == [1, 2, 3, 4]
    assert probes(store) == {"shed/air", "shed", "cellar-1"}


@pytest.fixture
def broker(tmp_path: Path) -> Iterator[Broker]:
    broker = Broker("embedded", tmp_path)
    broker.start()
    yield broker
    broker.stop()


def test_a_running_collector_leaves_a_topic_that_was_taken_back(broker: Broker, tmp_path: Path) -> None:
    settings = Settings(data=tmp_path, mqtt_port=broker.port, listen="127.0.0.1")
    picked, store, stop = Picked("shed/#"), MemoryStore(), threading.Event()
    intake = Intake(store, SystemClock(), picked, lambda _s, _r: None)  # type: ignore[arg-type]
    password = settings.secret("collector-password")
    connection = Connection(BrokerAddress("127.0.0.1", broker.port, COLLECTOR_USER, password), intake)
    thread = threading.Thread(target=connection.run, args=(stop,))
    thread.start()
    probe = Client(CallbackAPIVersion.VERSION2, client_id="test-probe")
    probe.username_pw_set(PROBE_USER, settings.secret("probe-password").get_secret_value())
    probe.connect("127.0.0.1", broker.port)
    probe.loop_start()

    def says(topic: str) -> None:
        probe.publish(topic, b'{"temperature": 11.5}', qos=1).wait_for_publish(20)

    try:
        wait_for(lambda: says("shed/air") or "shed/air" in probes(store), what="a topic that is listened to")
        picked.filters = ("attic/#",)
        wait_for(lambda: says("attic/air") or "attic/air" in probes(store), what="a topic that was added")
        assert connection._subscribed == ["rindwatch/#", "attic/#"]
        says("shed/later")
        says("attic/later")
        wait_for(lambda: "attic/later" in probes(store), what="what came after it")
        assert "shed/later" not in probes(store)
    finally:
        probe.disconnect()
        probe.loop_stop()
        stop.set()
        thread.join()
