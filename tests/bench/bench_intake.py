"""Intake at QoS 1, messages of three records: the collector beside a bare client that only acknowledges.

*steady*: another process publishes as fast as the broker takes it, while each of the two listens in its turn; promise:
at least 0.7 of the bare client, and 50 messages a second at a tenth of a core. *backlog*: both drain a queue that
waited in the broker, where nothing but the client itself sets the pace.
"""

import os
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from paho.mqtt.client import Client
from paho.mqtt.enums import CallbackAPIVersion, MQTTProtocolVersion
from paho.mqtt.packettypes import PacketTypes
from paho.mqtt.properties import Properties

from collector.clock import SystemClock
from collector.intake.address import COLLECTOR_USER, BrokerAddress
from collector.intake.client import Connection
from collector.intake.intake import Intake
from collector.intake.payloads import FieldHints, PackRecord, encode_senml
from collector.intake.short_way import short_way
from collector.prepare import prepare
from collector.readings.model import Arrival, Reject, Stored
from collector.readings.store import ReadingStore, SqliteReadings
from collector.settings import Settings
from tests.brokers import MOSQUITTO, Broker, wait_for

MESSAGES = 20_000
STEADY_S, STEADY_PER_S = 10, 50


class NoChoices:
    filters: Sequence[str] = ()
    hints: Mapping[str, FieldHints] = {}


def address(broker: Broker) -> BrokerAddress:
    if broker.kind == "embedded":
        settings = Settings(data=broker.folder)
        return BrokerAddress("127.0.0.1", short_way(settings), COLLECTOR_USER, settings.secret("collector-password"))
    return BrokerAddress("127.0.0.1", broker.port, version="5")


def bare_client(broker: Broker, expected: int, counted: threading.Event) -> tuple[Client, list[float]]:
    """A client that acknowledges each message in its callback and does nothing else."""
    times: list[float] = []
    to, v5 = address(broker), broker.kind != "embedded"
    session: Mapping[str, Any] = {} if v5 else {"clean_session": False}
    protocol = MQTTProtocolVersion.MQTTv5 if v5 else MQTTProtocolVersion.MQTTv311
    client = Client(CallbackAPIVersion.VERSION2, client_id="bare", protocol=protocol, manual_ack=True, **session)
    if to.user is not None and to.password is not None:
        client.username_pw_set(to.user, to.password.get_secret_value())

    def on_message(_client: Client, _data: object, message: object) -> None:
        times.append(time.perf_counter())
        client.ack(message.mid, message.qos)  # type: ignore[attr-defined]
        if len(times) == expected:
            counted.set()

    client.on_message = on_message
    client.on_connect = lambda c, *_: c.subscribe("rindwatch/bench/readings", qos=1)
    return client, times


def connect_bare(client: Client, broker: Broker) -> None:
    if broker.kind == "embedded":
        client.connect("127.0.0.1", broker.port)
        return
    properties = Properties(PacketTypes.CONNECT)  # type: ignore[no-untyped-call]
    properties.SessionExpiryInterval = 3_600
    client.connect("127.0.0.1", broker.port, clean_start=False, properties=properties)


def run_connection(broker: Broker, store: ReadingStore, until: object) -> float:
    """Run the collector's intake until a condition holds; returns the CPU seconds it took."""
    stop = threading.Event()
    intake = Intake(store, SystemClock(), NoChoices(), lambda _state, _reason: None)
    began = time.process_time()
    thread = threading.Thread(target=Connection(address(broker), intake).run, args=(stop,))
    thread.start()
    until()  # type: ignore[operator]
    stop.set()
    thread.join()
    return time.process_time() - began


@contextmanager
def publisher(broker: Broker, count: int) -> Iterator[None]:
    """Messages from a process of its own, as fast as the broker takes them."""
    call = f"from tests.bench.bench_intake import *; publish(Broker({broker.kind!r}, Path({str(broker.folder)!r}),"
    process = subprocess.Popen([sys.executable, "-c", f"{call} {broker.port}), {count})"])
    yield
    assert process.wait(120) == 0


def publish(broker: Broker, count: int, per_s: float | None = None) -> None:
    client = broker.a_client("bench-probe")
    start_s = 946_700_000 + time.time() % 10_000_000 * 60  # no second call shares its times: each second is a minute
    for i in range(count):
        records = [PackRecord(name, i % 90 + 0.5, unit) for name, unit in (("t", "Cel"), ("h", "%RH"), ("b", "%EL"))]
        client.publish("rindwatch/bench/readings", encode_senml(records, base_time_s=start_s + i / 1_000), qos=1)
        if per_s:
            time.sleep(1 / per_s)
    wait_for(lambda: not client._out_messages, 120, "everything published")
    client.disconnect()
    client.loop_stop()


class Counting:
    """Hands everything to the store, and notes when the first and the last of the expected readings were committed."""

    def __init__(self, store: SqliteReadings) -> None:
        self._store, self._kept, self.first, self.last = store, 0, 0.0, 0.0
        self.flights, self.forget_flights, self.close = store.flights, store.forget_flights, store.close

    def add(self, arrivals: Sequence[Arrival | Reject]) -> Stored:
        began = time.perf_counter()
        stored = self._store.add(arrivals)
        self._kept += stored.kept
        self.first, self.last = self.first or began, time.perf_counter()
        return stored

    def until(self, readings: int) -> None:
        wait_for(lambda: self._kept >= readings, 120, "everything kept")


def subscribed(broker: Broker, client: Client) -> None:
    connect_bare(client, broker)
    client.loop_start()
    wait_for(client.is_connected)
    time.sleep(0.5)


def left(client: Client) -> None:
    client.disconnect()
    client.loop_stop()


def while_published(broker: Broker, store: SqliteReadings) -> tuple[float, float]:
    """Seconds from the first message to the last, for the bare client and for the collector."""
    done = threading.Event()
    client, times = bare_client(broker, MESSAGES, done)
    subscribed(broker, client)
    with publisher(broker, MESSAGES):
        assert done.wait(120)
    client.unsubscribe("rindwatch/bench/readings")
    time.sleep(0.5)
    left(client)

    def all_kept() -> None:
        time.sleep(0.5)
        with publisher(broker, MESSAGES):
            counting.until(3 * MESSAGES)

    counting = Counting(store)
    run_connection(broker, counting, all_kept)
    return times[-1] - times[0], counting.last - counting.first


def from_backlog(broker: Broker, store: SqliteReadings) -> tuple[float, float]:
    """Seconds to drain a queue, for the bare client and for the collector, whose session is there already."""
    done = threading.Event()
    client, times = bare_client(broker, MESSAGES, done)
    subscribed(broker, client)
    left(client)
    publish(broker, MESSAGES)
    began = time.perf_counter()
    connect_bare(client, broker)
    client.loop_start()
    assert done.wait(120)
    bare_s = times[-1] - began
    left(client)
    began = time.perf_counter()
    counting = Counting(store)
    run_connection(broker, counting, lambda: counting.until(3 * MESSAGES))
    return bare_s, counting.last - began


def share_of_core(broker: Broker, store: SqliteReadings) -> float:
    """Share of a core at a steady rate, with what publishing takes of this process left out."""
    before = time.process_time()
    publish(broker, STEADY_S * STEADY_PER_S, STEADY_PER_S)
    publishing = time.process_time() - before
    cpu = run_connection(broker, store, lambda: publish(broker, STEADY_S * STEADY_PER_S, STEADY_PER_S))
    return max(0.0, cpu - publishing) / STEADY_S


def row(kind: str, way: str, bare_s: float, ours_s: float) -> None:
    bare, ours = MESSAGES / bare_s, MESSAGES / ours_s
    print(f"{kind:<10} {way:<8} {bare:>8.0f} {ours:>8.0f} {ours / bare:>6.2f}", flush=True)


def main() -> None:
    print(f"{'broker':<10} {'way':<8} {'bare/s':>8} {'ours/s':>8} {'ratio':>6}")
    for kind in ("embedded", *(["mosquitto"] if Path(MOSQUITTO).exists() else [])):
        with tempfile.TemporaryDirectory() as folder:
            prepare(Settings(data=Path(folder)))
            broker = Broker(kind, Path(folder), saves_each_change=False)
            broker.start()
            store = SqliteReadings(broker.folder / "readings.sqlite3")
            row(kind, "steady", *while_published(broker, store))
            row(kind, "backlog", *from_backlog(broker, store))
            print(f"{kind:<10} at 50 messages a second: {share_of_core(broker, store):.3f} of a core", flush=True)
            store.close()
            broker.stop()


if __name__ == "__main__":
    os.environ.setdefault("RINDWATCH_LOG_LEVEL", "error")
    main()
