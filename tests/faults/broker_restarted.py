"""A broker that is restarted in order or killed, with and without saving: what it forgets is its own promise."""

import time
from collections.abc import Callable

from collector.intake.payloads import PackRecord, encode_senml
from tests.brokers import Broker, wait_for
from tests.faults.conftest import CollectorProcess, kept
from tests.faults.outcome import Outcome
from tests.faults.steady_probe import until

SENT = 200


def restarted(broker: Broker, collector: CollectorProcess, end: Callable[[], None], words: str) -> Outcome:
    """A first lot is handed over; a second waits at the broker while the collector is away; then the broker goes."""
    collector.start()
    collector.wait_connected()
    _send(broker, 0)
    until(lambda: len(_values(broker)) == SENT)
    collector.stop()
    _send(broker, SENT)
    time.sleep(2.5)  # Mosquitto saves at most once a second
    end()
    broker.start()
    collector.start()
    began = time.monotonic()
    collector.wait_connected()
    took = time.monotonic() - began
    time.sleep(1.0)
    values = [value for _, value in kept(broker.folder, "timed")]
    collector.stop()
    lost = len(set(range(SENT)) - {int(v) for v in values})
    gone = len(set(range(SENT, 2 * SENT)) - {int(v) for v in values})
    return Outcome(f"broker {words}", 1, 2 * SENT, lost, len(values) - len(set(values)), gone, [took], broker.kind)


def _values(broker: Broker) -> set[float]:
    return {value for _, value in kept(broker.folder, "timed")}


def _send(broker: Broker, first: int) -> None:
    client = broker.a_client("probe")
    start_s = int(time.time()) - 40_000
    for number in range(first, first + SENT):
        payload = encode_senml([PackRecord("temperature", float(number), "Cel")], base_time_s=start_s + number)
        client.publish("rindwatch/timed/readings", payload, qos=1)
    wait_for(lambda: not client._out_messages, what="every message acknowledged by the broker")
    client.disconnect()
    client.loop_stop()
