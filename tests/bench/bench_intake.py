"""Intake at QoS 1, messages of three records: the collector beside a bare client that only acknowledges.

Both drain the same queue of the same broker; promise: at least 0.7 of the bare client, and 50 messages a second at a
tenth of a core.
"""

import os
import tempfile
import threading
import time
from collections.abc import Sequence
from pathlib import Path

from paho.mqtt.client import Client
from paho.mqtt.enums import CallbackAPIVersion, MQTTProtocolVersion
from paho.mqtt.packettypes import PacketTypes
from paho.mqtt.properties import Properties

from collector.clock import SystemClock
from collector.intake.address import COLLECTOR_USER, BrokerAddress
from collector.intake.client import Connection
from collector.intake.intake import Intake
from collector.intake.payloads import PackRecord, encode_senml
from collector.prepare import prepare
from collector.readings.model import Arrival, Reject, Stored
from collector.readings.store import ReadingStore, SqliteReadings
from collector.settings import Settings
from tests.brokers import MOSQUITTO, Broker, wait_for

MESSAGES = 20_000
STEADY_S, STEADY_PER_S = 10, 50


class NoChoices:
    filters = ()
    hints: dict[str, object] = {}  # noqa: RUF012


def address(broker: Broker) -> BrokerAddress:
    if broker.kind == "embedded":
        password = Settings(data=broker.folder).secret("collector-password")
        return BrokerAddress("127.0.0.1", broker.port, COLLECTOR_USER, password)
    return BrokerAddress("127.0.0.1", broker.port, version="5")


def bare_client(broker: Broker, expected: int, counted: threading.Event) -> tuple[Client, list[float]]:
    """A client that acknowledges each message in its callback and does nothing else."""
    times: list[float] = []
    to, v5 = address(broker), broker.kind != "embedded"
    session = {} if v5 else {"clean_session": False}
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


def publish(broker: Broker, count: int, per_s: float | None = None) -> None:
    client = broker.a_client("bench-probe")
    start_s = int(time.time()) - 500_000
    for i in range(count):
        records = [PackRecord(name, i % 90 + 0.5, unit) for name, unit in (("t", "Cel"), ("h", "%RH"), ("b", "%EL"))]
        client.publish("rindwatch/bench/readings", encode_senml(records, base_time_s=start_s + i), qos=1)
        if per_s:
            time.sleep(1 / per_s)
    wait_for(lambda: not client._out_messages, 120, "everything published")
    client.disconnect()
    client.loop_stop()


class Counting:
    """Hands everything to the store, and notes when the last of the expected readings was committed."""

    def __init__(self, store: SqliteReadings) -> None:
        self._store, self._kept, self.last = store, 0, 0.0
        self.flights, self.forget_flights, self.close = store.flights, store.forget_flights, store.close

    def add(self, arrivals: Sequence[Arrival | Reject]) -> Stored:
        stored = self._store.add(arrivals)
        self._kept += stored.kept
        self.last = time.perf_counter()
        return stored

    def until(self, readings: int) -> None:
        wait_for(lambda: self._kept >= readings, 120, "everything kept")


def drain(broker: Broker) -> tuple[float, float, float]:
    """Seconds for the bare client, seconds for the collector, CPU share at a steady rate."""
    store = SqliteReadings(broker.folder / "readings.sqlite3")
    run_connection(broker, store, lambda: time.sleep(1))  # takes its subscription, and leaves
    done = threading.Event()
    client, times = bare_client(broker, MESSAGES, done)
    connect_bare(client, broker)
    client.loop_start()
    wait_for(client.is_connected)
    time.sleep(0.5)
    client.disconnect()
    client.loop_stop()
    publish(broker, MESSAGES)
    began = time.perf_counter()
    connect_bare(client, broker)
    client.loop_start()
    assert done.wait(120)
    bare_s = times[-1] - began
    client.disconnect()
    client.loop_stop()
    began = time.perf_counter()
    counting = Counting(store)
    run_connection(broker, counting, lambda: counting.until(3 * MESSAGES))
    ours_s = counting.last - began
    share = steady(broker, store)
    store.close()
    return bare_s, ours_s, share


def steady(broker: Broker, store: SqliteReadings) -> float:
    """Share of a core at a steady rate, with what publishing takes of this process left out."""
    before = time.process_time()
    publish(broker, STEADY_S * STEADY_PER_S, STEADY_PER_S)
    publishing = time.process_time() - before
    cpu = run_connection(broker, store, lambda: publish(broker, STEADY_S * STEADY_PER_S, STEADY_PER_S))
    return max(0.0, cpu - publishing) / STEADY_S


def main() -> None:
    print(f"{'broker':<10} {'bare/s':>8} {'ours/s':>8} {'ratio':>6} {'core at 50/s':>13}")
    for kind in ("embedded", *(["mosquitto"] if Path(MOSQUITTO).exists() else [])):
        with tempfile.TemporaryDirectory() as folder:
            prepare(Settings(data=Path(folder)))
            broker = Broker(kind, Path(folder), saves_each_change=False)
            broker.start()
            bare_s, ours_s, share = drain(broker)
            broker.stop()
        print(
            f"{kind:<10} {MESSAGES / bare_s:>8.0f} {MESSAGES / ours_s:>8.0f} {bare_s / ours_s:>6.2f} {share:>13.3f}",
            flush=True,
        )


if __name__ == "__main__":
    os.environ.setdefault("RINDWATCH_LOG_LEVEL", "error")
    main()
