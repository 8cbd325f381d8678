"""The embedded broker has the collector's session before it lets anybody in, and one neighbour cannot shut the door."""

import socket
import time
from collections.abc import Iterator
from contextlib import ExitStack, suppress
from datetime import UTC, datetime
from pathlib import Path

import pytest
from sqlalchemy import insert

from collector.intake.payloads import PackRecord, encode_senml
from collector.intake.places import OF_ONE_ADDRESS, WAITING
from collector.prepare import prepare
from collector.records.engine import open_records
from collector.records.tables import topic_filter
from collector.settings import Settings
from tests.brokers import Broker, wait_for
from tests.faults.conftest import CollectorProcess, kept

NEIGHBOUR = "127.0.0.2"  # loopback as well, but not the address of this machine's own programs
SENT = 100
CONNECT = bytes.fromhex("10 10 00 04 4d 51 54 54 04 02 00 3c 00 04")  # and the four letters of its name


@pytest.fixture
def broker(tmp_path: Path) -> Iterator[Broker]:
    prepare(Settings(data=tmp_path))
    broker = Broker("embedded", tmp_path)
    broker.start()
    yield broker
    broker.stop()


def send(broker: Broker, first: int, topic: str = "rindwatch/timed/readings") -> None:
    """A hundred messages, each acknowledged."""
    client, start_s = broker.a_client("probe"), int(time.time()) - 40_000
    for number in range(first, first + SENT):
        payload = encode_senml([PackRecord("temperature", float(number), "Cel")], base_time_s=start_s + number)
        client.publish(topic, payload, qos=1)
    wait_for(lambda: not client._out_messages, what="every message acknowledged")
    client.disconnect()
    client.loop_stop()


def values(broker: Broker) -> set[float]:
    return {value for _, value in kept(broker.folder, "timed")}


def test_what_comes_before_the_collector_was_ever_there_waits_for_it(
    broker: Broker, collector: CollectorProcess
) -> None:
    send(broker, 0)
    collector.start()
    wait_for(lambda: values(broker) == set(range(SENT)), what="what came before the collector")
    assert len(kept(broker.folder, "timed")) == SENT  # each of them once


def test_what_comes_between_a_killed_brokers_return_and_the_collectors_is_kept(
    broker: Broker, collector: CollectorProcess
) -> None:
    collector.start()
    collector.wait_connected()
    collector.kill()
    for times in range(1, 4):
        broker.kill()
        broker.start()
        send(broker, SENT * times)
        collector.start()
        sent = set(range(SENT * times, SENT * (times + 1)))
        wait_for(lambda sent=sent: sent <= values(broker), what="what came between")  # type: ignore[misc]
        collector.kill()
    assert len(kept(broker.folder, "timed")) == 3 * SENT  # each of them once


def test_the_session_listens_to_what_people_chose_last(broker: Broker, collector: CollectorProcess) -> None:
    records = open_records(Settings(data=broker.folder).records_at)
    with records.begin() as db:
        db.execute(insert(topic_filter).values(filter="shed/#", added_at=datetime.now(UTC)))
    records.dispose()
    collector.start()
    collector.wait_connected()
    collector.kill()
    broker.kill()
    broker.start()
    send(broker, 0, "shed/temperature")
    collector.start()
    wait_for(
        lambda: len(kept(broker.folder, "shed/temperature")) == SENT, what="what came on a topic of our own choice"
    )


def knock(port: int) -> socket.socket:
    return socket.create_connection(("127.0.0.1", port), timeout=5, source_address=(NEIGHBOUR, 0))


def test_a_neighbour_with_many_connections_is_not_noticed(broker: Broker, collector: CollectorProcess) -> None:
    collector.start()
    collector.wait_connected()
    with ExitStack() as held:
        for _ in range(WAITING + 100):  # says nothing
            held.enter_context(knock(broker.port))
        for number in range(OF_ONE_ADDRESS + 50):  # says a little, or who it is and no more
            slow = held.enter_context(knock(broker.port))
            slow.sendall(CONNECT[: 2 + number % 10] if number % 2 else CONNECT + b"%04d" % number)
        started = time.monotonic()
        send(broker, 0)
        wait_for(lambda: values(broker) == set(range(SENT)), what="a probe beside the neighbour")
        print(f"beside the neighbour: {SENT} messages stored after {time.monotonic() - started:.2f} s")
    send(broker, SENT)
    wait_for(lambda: len(values(broker)) == 2 * SENT, what="a probe after the neighbour")
    assert len(kept(broker.folder, "timed")) == 2 * SENT  # each of them once


def test_a_first_packet_that_is_none_ends_the_call(broker: Broker) -> None:
    for wrong in (b"GET / HTTP/1.1\r\n\r\n", b"\x10\xff\xff\xff\xff\x01", b"\x10\xff\xff\xff\x7f"):
        with knock(broker.port) as caller:
            caller.sendall(wrong)
            with suppress(ConnectionError):  # told so more harshly
                assert caller.recv(100) == b""
