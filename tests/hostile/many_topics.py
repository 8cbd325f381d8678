"""A probe that publishes under a new topic each time, at a real broker, beside an honest one that was there before."""

import threading
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from statistics import median

from paho.mqtt.client import Client, MQTTMessageInfo

from collector.intake.payloads import PackRecord, encode_senml
from collector.settings import Settings
from tests.brokers import Broker
from tests.faults.conftest import CollectorProcess, kept
from tests.faults.steady_probe import until

# A clock of its own for each message, well in the past, so that none is a repetition.
START_S = int(time.time()) - 2_000_000
FULL = 2_700  # topics after which the house holds as many probes and rejects as it ever will
WAITING = 2_000  # messages on their way to the broker at most
PATIENCE_S = 90.0  # of the honest probe, which then says it again; its client waits longer before each try to connect
EACH_S = 0.5  # how often the honest probe speaks


@dataclass(frozen=True, slots=True)
class Weight:
    """What the house weighs: resident memory of collector and broker, and the readings' files [MB]."""

    collector_mb: float
    broker_mb: float
    stored_mb: float


@dataclass(frozen=True, slots=True)
class Flood:
    """What a flood did. `delays_s`: of the honest probe's readings, until each was stored; `lost`: of them, without
    those that a broker took and forgot as it ended (`gone`)."""

    kind: str
    topics: int
    lasting_s: float
    full: Weight
    after: Weight
    calm_s: Sequence[float]
    delays_s: Sequence[float]
    lost: int
    gone: int
    probes: int
    rejects: int

    def said(self) -> str:
        a, b = self.full, self.after
        return (
            f"{self.kind}: {self.topics} topics in {self.lasting_s:.0f} s; collector {a.collector_mb:.0f} -> "
            f"{b.collector_mb:.0f} MB, broker {a.broker_mb:.0f} -> {b.broker_mb:.0f} MB, stored {a.stored_mb:.1f} -> "
            f"{b.stored_mb:.1f} MB from {FULL} topics on; {self.probes} probes, {self.rejects} set aside; honest "
            f"readings {len(self.delays_s)}, lost {self.lost}, gone with the broker {self.gone}, stored after "
            f"{median(self.delays_s):.2f} s, at worst "
            f"{max(self.delays_s):.2f} s (alone {median(self.calm_s):.2f} and {max(self.calm_s):.2f} s)"
        )


class Honest:
    """Speaks and waits until it is stored, again and again; `ends` are the times at which its broker ended."""

    def __init__(self, broker: Broker, client: Client, ends: Sequence[float]) -> None:
        self.folder, self.client, self.ends, self.sent, self.gone = broker.folder, client, ends, 0, 0

    def once(self) -> float:
        """Speak once; how long it took until that was stored [s]."""
        self.sent += 1
        number = float(self.sent)
        ended = len(self.ends)
        self.client.publish("rindwatch/honest/readings", a_pack(self.sent), qos=1)
        while True:
            try:
                took_s = until(lambda: number in {value for _, value in kept(self.folder, "honest")}, PATIENCE_S)
                break
            except AssertionError:
                if len(self.ends) == ended:
                    raise
                # The broker had taken it and ended before it handed it over.
                self.gone, ended = self.gone + 1, len(self.ends)
                self.client.publish("rindwatch/honest/readings", a_pack(self.sent), qos=1)
        time.sleep(max(0.0, EACH_S - took_s))
        return took_s


def a_pack(number: int) -> bytes:
    return encode_senml([PackRecord("temperature", float(number), "Cel")], base_time_s=START_S + number)


def flood(
    broker: Broker, collector: CollectorProcess, topics: int, calm: int = 10, ends: Sequence[float] = ()
) -> Flood:
    """Publish under so many topics as fast as the broker takes it, and hold what that does to an honest probe."""
    collector.start()
    collector.wait_connected()
    honest, loud = Honest(broker, broker.a_client("honest"), ends), broker.a_client("hostile")
    calm_s = [honest.once() for _ in range(calm)]
    shout(loud, 0, FULL)
    full = weight(broker, collector)
    began = time.monotonic()
    thread = threading.Thread(target=shout, args=(loud, FULL, topics))
    thread.start()
    delays_s = [honest.once()]
    while thread.is_alive():
        delays_s.append(honest.once())
    thread.join()
    delays_s.append(honest.once())
    lasting_s = time.monotonic() - began
    after = weight(broker, collector)
    for client in (honest.client, loud):
        client.disconnect()
        client.loop_stop()
    collector.stop()
    lost = honest.sent - len({value for _, value in kept(broker.folder, "honest")})
    probes, rejects = count(broker.folder, "probe"), count(broker.folder, "reject")
    return Flood(broker.kind, topics, lasting_s, full, after, calm_s, delays_s, lost, honest.gone, probes, rejects)


def shout(client: Client, first: int, end: int) -> None:
    """Readings that can be read, some that cannot, and words about itself, each under a topic of its own."""
    waiting: list[MQTTMessageInfo] = []
    for number in range(first, end):
        topic, payload = f"rindwatch/h{number}/readings", a_pack(number)
        if number % 4 == 1:
            payload = b'[{"n":"\\ud800"' + b"x" * 200
        elif number % 4 == 3:
            topic, payload = f"rindwatch/h{number}/status", b"online"
        waiting.append(client.publish(topic, payload, qos=1))
        if len(waiting) >= WAITING:
            _until_taken(waiting)
    _until_taken(waiting)


def _until_taken(waiting: list[MQTTMessageInfo]) -> None:
    """Wait for all of them; what was given out while there was no broker goes when there is one again."""
    for info in waiting:
        with suppress(RuntimeError):
            info.wait_for_publish(60)
    waiting.clear()


@contextmanager
def looked_after(broker: Broker) -> Iterator[list[float]]:
    """As the supervisor does: a broker that ends is started again. Gives the list of when that was."""
    ends, stop = list[float](), threading.Event()

    def look() -> None:
        while not stop.wait(0.2):
            if broker.process is not None and broker.process.poll() is not None:
                ends.append(time.monotonic())
                broker.start()

    thread = threading.Thread(target=look)
    thread.start()
    try:
        yield ends
    finally:
        stop.set()
        thread.join()


def weight(broker: Broker, collector: CollectorProcess) -> Weight:
    assert broker.process is not None
    assert collector.process is not None
    path = Settings(data=broker.folder).readings_path
    files = [path, path.with_name(path.name + "-wal")]
    stored_mb = sum(file.stat().st_size for file in files if file.exists()) / 1e6
    return Weight(resident_mb(collector.process.pid), resident_mb(broker.process.pid), stored_mb)


def resident_mb(pid: int) -> float:
    """The most memory that a process has held so far (proc(5), VmHWM)."""
    for line in Path(f"/proc/{pid}/status").read_text().splitlines():
        if line.startswith("VmHWM:"):
            return int(line.split()[1]) / 1_024
    raise AssertionError(f"process {pid} tells no VmHWM")


def count(folder: Path, table: str) -> int:
    from contextlib import closing

    from collector.readings.schema import open_reader

    with closing(open_reader(Settings(data=folder).readings_path)) as db:
        return int(db.execute(f"SELECT count(*) FROM {table}").fetchone()[0])
