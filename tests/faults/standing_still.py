"""A slow consumer: the collector stands still, its connection open, while probes go on sending."""

import os
import signal
import time

from collector.intake.payloads import PackRecord, encode_senml
from tests.brokers import Broker, wait_for
from tests.faults.conftest import CollectorProcess, kept
from tests.faults.outcome import Outcome
from tests.faults.steady_probe import until


def stood_still(broker: Broker, collector: CollectorProcess, messages: int, times: int) -> Outcome:
    """Stop its process, send, let it go on: how long until all is stored."""
    collector.start()
    collector.wait_connected()
    assert collector.process is not None
    client, start_s, took = broker.a_client("probe"), int(time.time()) - 80_000, list[float]()
    for turn in range(times):
        os.kill(collector.process.pid, signal.SIGSTOP)
        for number in range(messages * turn, messages * (turn + 1)):
            payload = encode_senml([PackRecord("temperature", float(number), "Cel")], base_time_s=start_s + number)
            client.publish("rindwatch/still/readings", payload, qos=1)
        wait_for(lambda: not client._out_messages, 120, "every message acknowledged by the broker")
        os.kill(collector.process.pid, signal.SIGCONT)
        took.append(until(lambda all_of_it=messages * (turn + 1): len(kept(broker.folder, "still")) >= all_of_it))
    client.disconnect()
    client.loop_stop()
    collector.stop()
    values = [value for _, value in kept(broker.folder, "still")]
    sent = messages * times
    lost, doubled = sent - len(set(values)), len(values) - len(set(values))
    return Outcome(f"collector stands still while {messages:,} come", times, sent, lost, doubled, 0, took, broker.kind)
