"""The clock that the collector goes by is set while messages come; the broker and the connection are real."""

import threading
from datetime import UTC, datetime, timedelta

from collector.clock import ManualClock
from collector.intake.address import COLLECTOR_USER, BrokerAddress
from collector.intake.client import Connection
from collector.intake.intake import Intake
from collector.intake.payloads import PackRecord, encode_senml
from collector.readings.store import SqliteReadings
from collector.settings import Settings
from tests.brokers import Broker, wait_for
from tests.faults.conftest import kept
from tests.faults.outcome import Outcome
from tests.faults.steady_probe import until

# Summer time ends at 01:00 UTC on this day in Europe (common practice, no source): local time runs 02:59, then 02:00.
AUTUMN = datetime(2026, 10, 25, 0, 30, tzinfo=UTC)
HALF = 50


class ListensToAll:
    filters = ("bare/#",)
    hints = {}  # noqa: RUF012


def clock_set(broker: Broker, step: timedelta) -> Outcome:
    """Readings with a time of their own and bare numbers, before and after the step: all of them once."""
    clock, stop = ManualClock(AUTUMN), threading.Event()
    settings = Settings(data=broker.folder)
    store = SqliteReadings(settings.readings_path)
    intake = Intake(store, clock, ListensToAll(), lambda _state, _reason: None)
    address = BrokerAddress("127.0.0.1", broker.port, COLLECTOR_USER, settings.secret("collector-password"))
    thread = threading.Thread(target=Connection(address, intake).run, args=(stop,))
    thread.start()
    client = broker.a_client("probe")
    wait_for(lambda: _answered(client, broker), 20, "the intake listens")
    took = 0.0
    for half in range(2):
        for number in range(HALF * half, HALF * (half + 1)):
            own_s = clock.now().timestamp() - 60 * (number % HALF) - 7 * half
            payload = encode_senml([PackRecord("temperature", float(number), "Cel")], base_time_s=own_s)
            client.publish("rindwatch/timed/readings", payload, qos=1)
            client.publish("bare/temperature", str(number).encode(), qos=1)
        took = until(lambda done=(half + 1) * HALF: all(len(kept(broker.folder, n)) >= done for n in ("bare", "timed")))
        clock.advance(step)
    stop.set()
    thread.join()
    store.close()
    client.disconnect()
    client.loop_stop()
    values = [[value for _, value in kept(broker.folder, name)] for name in ("bare", "timed")]
    lost = sum(len({float(i) for i in range(2 * HALF)} - set(own)) for own in values)
    doubled = sum(len(own) - len(set(own)) for own in values)
    hours = step.total_seconds() / 3_600
    fault = f"clock set by {hours:+g} h, in the night summer time ends"
    return Outcome(fault, 1, 4 * HALF, lost, doubled, 0, [took], broker.kind)


def _answered(client: object, broker: Broker) -> bool:
    client.publish("rindwatch/sentinel/readings", b'[{"n":"uptime","v":1,"u":"s"}]', qos=1)  # type: ignore[attr-defined]
    return bool(kept(broker.folder, "sentinel"))
