"""SIGKILL of the broker: what it had acknowledged to a probe is as safe as the broker; measured and printed."""

import time

import pytest

from collector.intake.payloads import PackRecord, encode_senml
from tests.brokers import Broker, wait_for
from tests.faults.conftest import CollectorProcess, kept

pytestmark = pytest.mark.timeout(200)
SENT = 200


def send(broker: Broker, first: int, count: int) -> None:
    client = broker.a_client("probe")
    start_s = int(time.time()) - 40_000
    for number in range(first, first + count):
        payload = encode_senml([PackRecord("temperature", float(number), "Cel")], base_time_s=start_s + number)
        client.publish("rindwatch/timed/readings", payload, qos=1)
    wait_for(lambda: not client._out_messages, what="every message acknowledged by the broker")
    client.disconnect()
    client.loop_stop()


def values(broker: Broker) -> set[float]:
    return {value for _, value in kept(broker.folder, "timed")}


def test_the_collector_comes_back_by_itself_when_the_broker_does(broker: Broker, collector: CollectorProcess) -> None:
    collector.start()
    collector.wait_connected()
    send(broker, 0, SENT)
    wait_for(lambda: len(values(broker)) == SENT, what="what was handed over")
    broker.kill()
    broker.start()
    wait_for(lambda: "broker_lost" in collector.log.read_text(), what="the loss noticed")
    collector.wait_connected()
    send(broker, SENT, SENT)
    wait_for(lambda: len(values(broker)) == 2 * SENT, what="what came after the broker's return")
    assert len(kept(broker.folder, "timed")) == 2 * SENT  # each of them once


def test_what_a_killed_broker_held_is_as_safe_as_the_broker(broker: Broker, collector: CollectorProcess) -> None:
    """The promise ends at the broker: Mosquitto saving every change loses nothing, the embedded one its queue."""
    collector.start()
    collector.wait_connected()
    collector.stop()
    send(broker, 0, SENT)
    time.sleep(2.5)  # Mosquitto saves at most once a second
    broker.kill()
    broker.start()
    collector.start()
    collector.wait_connected()
    wait_for(lambda: broker.kind == "embedded" or len(values(broker)) == SENT, what="the saved queue")
    print(f"{broker.kind}: of {SENT} messages queued for us, {SENT - len(values(broker))} went with the killed broker")
    if broker.kind == "mosquitto":
        assert len(values(broker)) == SENT
