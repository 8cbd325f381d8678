"""The machine's clock is set while messages come: nothing is lost, and what tells its own time keeps it."""

import threading
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from collector.clock import ManualClock
from collector.intake.address import COLLECTOR_USER, BrokerAddress
from collector.intake.client import Connection
from collector.intake.intake import Intake
from collector.intake.payloads import PackRecord, encode_senml
from collector.readings.store import SqliteReadings
from collector.settings import Settings
from tests.brokers import Broker, wait_for
from tests.faults.conftest import kept

# Summer time ends at 01:00 UTC on this day in Europe (common practice, no source): local time runs 02:59, then 02:00.
AUTUMN = datetime(2026, 10, 25, 0, 30, tzinfo=UTC)


class ListensToAll:
    filters = ("bare/#",)
    hints = {}  # noqa: RUF012


@pytest.mark.parametrize("step", [timedelta(hours=-3), timedelta(hours=5), timedelta(minutes=-30)])
def test_a_clock_that_is_set_loses_nothing(broker: Broker, tmp_path: Path, step: timedelta) -> None:
    clock, stop = ManualClock(AUTUMN), threading.Event()
    store = SqliteReadings(Settings(data=tmp_path).readings_path)
    intake = Intake(store, clock, ListensToAll(), lambda _state, _reason: None)
    password = Settings(data=tmp_path).secret("collector-password")
    address = BrokerAddress("127.0.0.1", broker.port, COLLECTOR_USER, password)
    thread = threading.Thread(target=Connection(address, intake).run, args=(stop,))
    thread.start()
    client = broker.a_client("probe")
    wait_for(lambda: answered(client, tmp_path), 20, "the intake listens")
    for half in range(2):
        for number in range(50):
            own = clock.now().timestamp() - 60 * number - 7 * half
            client.publish("rindwatch/timed/readings", a_pack(half * 50 + number, own), qos=1)
            client.publish("bare/temperature", str(half * 50 + number).encode(), qos=1)
        wait_for(lambda done=(half + 1) * 50: len(kept(tmp_path, "bare")) == done, 20, "every bare number")
        wait_for(lambda done=(half + 1) * 50: len(kept(tmp_path, "timed")) == done, 20, "every timed reading")
        clock.advance(step)
        time.sleep(0.1)
    stop.set()
    thread.join()
    store.close()
    client.disconnect()
    client.loop_stop()
    assert {value for _, value in kept(tmp_path, "timed")} == {float(i) for i in range(100)}
    assert {value for _, value in kept(tmp_path, "bare")} == {float(i) for i in range(100)}


def a_pack(number: int, at_s: float) -> bytes:
    return encode_senml([PackRecord("temperature", float(number), "Cel")], base_time_s=at_s)


def answered(client: object, folder: Path) -> bool:
    client.publish("rindwatch/sentinel/readings", b'[{"n":"uptime","v":1,"u":"s"}]', qos=1)  # type: ignore[attr-defined]
    return bool(kept(folder, "sentinel"))
