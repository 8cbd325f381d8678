"""What harm costs, long: topics without end at a real broker, and every parser fed for a while.

Run as `python -m tests.bench.bench_hostile [topics 1000000] [parsers 180] [embedded | mosquitto]`; the number is how
many topics, or for how many seconds parsers are fed. Without words it runs both, shortly. Ends with 1 when a reading
was lost, a bound was passed, or a parser let out what it should not.
"""

import sys
from pathlib import Path
from tempfile import TemporaryDirectory

from collector.prepare import prepare
from collector.readings.registry import MAX_PROBES
from collector.readings.store import MAX_REJECTS
from collector.settings import Settings
from tests.brokers import Broker
from tests.faults.conftest import CollectorProcess
from tests.hostile.fed_parsers import feed_all
from tests.hostile.many_topics import flood, looked_after

TOPICS, SECONDS = 50_000, 20.0


def topics(kind: str, number: int) -> int:
    """Flood one kind of broker; returns how many promises were broken."""
    with TemporaryDirectory(prefix="rindwatch-hostile-") as folder:
        prepare(Settings(data=Path(folder)))
        broker = Broker(kind, Path(folder), saves_each_change=False)  # else the disk is what is measured
        broker.start()
        try:
            with looked_after(broker) as ends:
                found = flood(broker, CollectorProcess(broker), number, ends=ends)
        finally:
            broker.stop()
    print(found.said() + f"; the broker ended itself and was started again {len(ends)} times", flush=True)
    return found.lost + (found.probes > MAX_PROBES) + (found.rejects > MAX_REJECTS)


def main() -> int:
    words = sys.argv[1:]
    number = float(next((word for word in words if word.replace(".", "").isdigit()), 0))
    broken = 0
    if "parsers" not in words:
        for kind in [word for word in words if word in {"embedded", "mosquitto"}] or ["embedded", "mosquitto"]:
            broken += topics(kind, int(number) or TOPICS)
    if "topics" not in words:
        broken += feed_all(number or SECONDS)
    return broken


if __name__ == "__main__":
    sys.exit(min(main(), 1))
