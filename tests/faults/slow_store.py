"""A store whose every commit takes as long as a sync does on a tired memory card.

The sleep stands in for the card: no slow disk can be had here. What it shows is the same: batches grow, nothing that
was handed over is lost, and what queued is caught up with.
"""

import threading
import time
from collections.abc import Sequence
from pathlib import Path

from collector.clock import SystemClock
from collector.intake.address import COLLECTOR_USER, BrokerAddress
from collector.intake.client import Connection
from collector.intake.intake import Intake
from collector.intake.payloads import PackRecord, encode_senml
from collector.readings.model import Arrival, Reject, Stored
from collector.readings.store import SqliteReadings
from collector.settings import Settings
from tests.brokers import Broker
from tests.faults.conftest import kept
from tests.faults.outcome import Outcome
from tests.faults.steady_probe import until


class SlowReadings(SqliteReadings):
    """Sleeps within each commit of messages."""

    def __init__(self, path: Path, commit_s: float) -> None:
        super().__init__(path)
        self.commit_s = commit_s

    def add(self, arrivals: Sequence[Arrival | Reject]) -> Stored:
        time.sleep(self.commit_s)
        return super().add(arrivals)


class ListensToOwn:
    filters = ()
    hints = {}  # noqa: RUF012


def slow_commits(broker: Broker, commit_s: float, messages: int) -> Outcome:
    """Send faster than the store takes; then see that all comes in, and how long that takes."""
    settings = Settings(data=broker.folder)
    store, stop = SlowReadings(settings.readings_path, commit_s), threading.Event()
    intake = Intake(store, SystemClock(), ListensToOwn(), lambda _state, _reason: None)
    secret = settings.secret("collector-password") if broker.kind == "embedded" else None
    user = COLLECTOR_USER if broker.kind == "embedded" else None
    address = BrokerAddress("127.0.0.1", broker.port, user, secret)
    thread = threading.Thread(target=Connection(address, intake).run, args=(stop,))
    thread.start()
    client = broker.a_client("probe")
    until(lambda: bool(_hello(client) and kept(broker.folder, "hello")))
    start_s = int(time.time()) - 40_000
    for number in range(messages):
        payload = encode_senml([PackRecord("temperature", float(number), "Cel")], base_time_s=start_s + number)
        client.publish("rindwatch/slow/readings", payload, qos=1)
    took = until(lambda: len(kept(broker.folder, "slow")) >= messages, 120)
    stop.set()
    thread.join()
    store.close()
    client.disconnect()
    client.loop_stop()
    values = [value for _, value in kept(broker.folder, "slow")]
    lost = messages - len(set(values))
    fault = f"each commit takes {commit_s * 1_000:.0f} ms"
    return Outcome(fault, 1, messages, lost, len(values) - len(set(values)), 0, [took], broker.kind)


def _hello(client: object) -> bool:
    client.publish("rindwatch/hello/readings", b'[{"n":"uptime","v":1,"u":"s"}]', qos=1)  # type: ignore[attr-defined]
    return True
