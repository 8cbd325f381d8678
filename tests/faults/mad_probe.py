"""A probe gone mad: a thousand messages a second beside calm ones, which must not starve."""

import threading
import time
from statistics import median

from collector.intake.payloads import PackRecord, encode_senml
from tests.brokers import Broker
from tests.faults.conftest import CollectorProcess, kept
from tests.faults.outcome import Outcome
from tests.faults.steady_probe import until

START_S = int(time.time()) - 80_000
CALM = 10  # probes that send once a second


def mad(broker: Broker, collector: CollectorProcess, a_second: int, lasting_s: float) -> Outcome:
    """The calm probes' readings: how many are lost, and how long each takes to be stored at the worst."""
    collector.start()
    collector.wait_connected()
    stop, client, loud = threading.Event(), broker.a_client("calm"), broker.a_client("mad")
    sent, shouted = list[float](), [0]

    def shout() -> None:
        began = time.monotonic()
        while not stop.is_set():
            while shouted[0] < a_second * (time.monotonic() - began):
                loud.publish("rindwatch/mad/readings", _pack(shouted[0]), qos=1)
                shouted[0] += 1
            time.sleep(0.005)

    thread = threading.Thread(target=shout)
    thread.start()
    delays, until_s = list[float](), time.monotonic() + lasting_s
    while time.monotonic() < until_s:
        number = float(len(sent))
        sent.append(time.monotonic())
        for probe in range(CALM):
            client.publish(f"rindwatch/calm{probe}/readings", _pack(int(number)), qos=1)
        last = f"calm{CALM - 1}"
        delays.append(until(lambda last=last, number=number: number in {v for _, v in kept(broker.folder, last)}))
        time.sleep(max(0.0, 1 - delays[-1]))
    stop.set()
    thread.join()
    until(lambda: len(kept(broker.folder, "mad")) >= shouted[0], 120)
    rows = [kept(broker.folder, f"calm{probe}") for probe in range(CALM)]
    lost = sum(len(sent) - len({v for _, v in own}) for own in rows)
    doubled = sum(len(own) - len({v for _, v in own}) for own in rows)
    for one in (client, loud):
        one.disconnect()
        one.loop_stop()
    collector.stop()
    note = f"{broker.kind}: {shouted[0] / lasting_s:.0f} a second; calm readings stored after {median(delays):.2f} s"
    return Outcome("a probe gone mad", 1, len(sent) * CALM, lost, doubled, 0, [max(delays)], note)


def _pack(number: int) -> bytes:
    base_s = START_S + number
    return encode_senml([PackRecord("temperature", float(number), "Cel")], base_time_s=base_s)
