"""SIGKILL of the collector under load: what the broker handed over, or still holds, is stored; no more than once."""

import os
import random
import time

import pytest

from collector.intake.payloads import PackRecord, encode_senml
from tests.brokers import Broker, wait_for
from tests.faults.conftest import CollectorProcess, kept

pytestmark = pytest.mark.timeout(300)
KILLS = int(os.environ.get("RINDWATCH_TEST_KILLS", "5"))
SPELL = 120  # messages between two kills


def publish(client: object, number: int, now_s: float) -> None:
    """One message of each kind: with a time of its own, numbered without one, and a bare number."""
    timed = encode_senml([PackRecord("temperature", float(number), "Cel")], base_time_s=now_s)
    counted = encode_senml([PackRecord("temperature", float(number), "Cel", -1.0)], boot="b", seq=number)
    for topic, payload in (
        ("rindwatch/timed/readings", timed),
        ("rindwatch/counted/readings", counted),
        ("cellar/bare/temperature", str(number).encode()),
    ):
        client.publish(topic, payload, qos=1)  # type: ignore[attr-defined]


def test_nothing_handed_over_is_lost_and_nothing_with_a_time_is_doubled(
    broker: Broker, collector: CollectorProcess
) -> None:
    start_s = int(time.time()) - 40_000
    rng = random.Random(5)
    _listen_to_everything(broker)
    collector.start()
    collector.wait_connected()
    client = broker.a_client("probes")
    sent = 0
    for _ in range(KILLS):
        for _ in range(SPELL):
            publish(client, sent, start_s + sent)
            sent += 1
            if sent % SPELL == rng.randrange(SPELL):
                time.sleep(0.05)
        time.sleep(rng.random() * 0.3)
        collector.kill()
        collector.start()
    wait_for(lambda: not client._out_messages, 60, "every message acknowledged by the broker")
    wait_for(lambda: len(kept(broker.folder, "timed")) == sent, 90, "every timed message stored")
    wait_for(lambda: len(kept(broker.folder, "cellar/bare")) >= sent, 30, "every bare number stored")
    collector.stop()
    numbers = [float(i) for i in range(sent)]
    assert [value for _, value in kept(broker.folder, "timed")] == numbers
    assert sorted(value for _, value in kept(broker.folder, "counted")) == numbers
    bare = [value for _, value in kept(broker.folder, "cellar/bare")]
    assert set(bare) == set(numbers)
    print(f"{broker.kind}: {KILLS} kills, {sent} messages of each kind, bare numbers stored twice: {len(bare) - sent}")


def _listen_to_everything(broker: Broker) -> None:
    """As a person does on the probes page for other people's devices."""
    from datetime import UTC, datetime

    from sqlalchemy import insert

    from collector.records.engine import open_records
    from collector.records.tables import topic_filter
    from collector.settings import Settings

    records = open_records(Settings(data=broker.folder).records_at)
    with records.begin() as connection:
        connection.execute(insert(topic_filter).values(filter="cellar/#", added_at=datetime.now(UTC)))
    records.dispose()


def test_a_collector_told_to_stop_leaves_in_order(broker: Broker, collector: CollectorProcess) -> None:
    collector.start()
    collector.wait_connected()
    collector.stop()
    assert "Traceback" not in collector.log.read_text()
