"""The follower's throughput beside bare posting of the same bodies, and what it costs the intake.

The other side is a sink in a process of its own that reads what comes and answers 204: what a database makes of it is
not ours to measure. Run with `python -m tests.bench.bench_follower [days]`; it prints tables and asserts nothing.
"""

import gzip
import os
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path
from statistics import median
from threading import Event

import urllib3

from collector.clock import SystemClock
from collector.readings.follower.attached import AttachedFollower
from collector.readings.follower.follow import Follower
from collector.readings.follower.ledger import Ledger
from collector.readings.follower.server import InfluxServer
from collector.readings.follower.settings import FollowerSettings
from collector.readings.follower.state import BATCH
from collector.readings.follower.writing import StoreWriter
from collector.readings.model import Arrival, Sample
from collector.readings.schema import open_reader
from collector.readings.store import SqliteReadings
from tests.bench.stored_caves import DAY_MS, NOW_MS, make_house
from tests.brokers import wait_for
from tests.following import follower_settings

SINK = """
import http.server, sys
class Sink(http.server.BaseHTTPRequestHandler):
    protocol_version = "HTTP/1.1"
    def log_message(self, *_): pass
    def do_POST(self):
        self.rfile.read(int(self.headers["Content-Length"]))
        self.send_response(204)
        self.end_headers()
server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), Sink)
print(server.server_address[1], flush=True)
server.serve_forever()
"""
COMMITS, ROWS = 40, 600  # what the intake commits at once when it is busy: 200 messages of three records
TURNS = 40


class Watched(InfluxServer):
    """Remembers the bodies that it sent, for the bare client."""

    bodies: list[bytes]

    def write(self, lines: Sequence[str]) -> None:
        self.bodies.append("\n".join(lines).encode())
        super().write(lines)


def bare(url: str, bodies: Sequence[bytes]) -> float:
    """Seconds for posting the same bodies, packed as the library packs them."""
    pool = urllib3.PoolManager()
    began = time.perf_counter()
    for body in bodies:
        pool.request("POST", f"{url}/api/v2/write", body=gzip.compress(body), headers={"Content-Encoding": "gzip"})
    return time.perf_counter() - began


def commits(store: SqliteReadings, start_ms: int) -> float:
    """Seconds for so many commits of the size that a busy intake makes."""
    began = time.perf_counter()
    for commit in range(COMMITS):
        at_ms = start_ms + commit * ROWS
        samples = tuple(Sample("temperature", at_ms + i, 12.0, "Cel", "temperature") for i in range(ROWS))
        store.add([Arrival("busy", "rindwatch/busy/readings", at_ms, samples)])
    return time.perf_counter() - began


def beside(store: SqliteReadings, settings: FollowerSettings) -> None:
    """Commits with the copying held and let go in short turns, since the machine has moods; prints both paces."""
    with store.transaction() as db:
        db.execute("DELETE FROM consumer WHERE name='follower'")
    attached, stop = AttachedFollower(settings, store, SystemClock()), Event()
    attached.start(stop)
    wait_for(lambda: attached.facts()["points"] > 0, what="it copies")
    child = int(Path(f"/proc/{os.getpid()}/task/{os.getpid()}/children").read_text().split()[-1])
    alone, busy, points = [], [], 0
    for turn in range(TURNS):
        os.kill(child, signal.SIGSTOP)
        alone.append(commits(store, NOW_MS + 2 * turn * DAY_MS))
        before = attached.facts()["points"]
        os.kill(child, signal.SIGCONT)
        busy.append(commits(store, NOW_MS + (2 * turn + 1) * DAY_MS))
        points += attached.facts()["points"] - before
    owed = attached.facts()["owed_spans"]
    stop.set()
    attached.join()
    attached.close()
    still, slow = sum(alone), sum(busy)
    ratios = sorted(a / b for a, b in zip(alone, busy, strict=True))
    number = COMMITS * TURNS
    print(f"{'intake, commits of ' + str(ROWS):24}{'commits/s':>12}{'':8}{'ratio':>8}")
    print(f"{'copying held':24}{number / still:>12.0f}{'':8}{1:>8.2f}")
    print(f"{'beside a long copying':24}{number / slow:>12.0f}{'':8}{still / slow:>8.2f}")
    quarter = TURNS // 4
    print(f"turns: middle {median(ratios):.2f}, half of them {ratios[quarter]:.2f} to {ratios[-quarter - 1]:.2f}")
    print(f"copied meanwhile: {points / slow:.0f} points/s; spans still owed: {owed}")


def follower(store: SqliteReadings, server: InfluxServer, share: float) -> tuple[Follower, Ledger]:
    ledger = Ledger(StoreWriter(store), open_reader(store.path))
    ledger.begin()
    return Follower(ledger, server, SystemClock(), share), ledger


def main() -> None:
    days = int(sys.argv[1]) if len(sys.argv) > 1 else 60
    sink = subprocess.Popen([sys.executable, "-c", SINK], stdout=subprocess.PIPE, text=True)
    assert sink.stdout is not None
    url = f"http://127.0.0.1:{int(sink.stdout.readline())}"
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        settings, _ = make_house(folder, caves=5, days=days)
        store = SqliteReadings(settings.readings_path)
        server = Watched(follower_settings(folder, url, "caves"))
        server.bodies = []
        own, ledger = follower(store, server, share=1.0)
        began, cpu = time.perf_counter(), time.process_time()
        while own.step():
            pass
        took, cpu = time.perf_counter() - began, time.process_time() - cpu
        points, size = own.state.points, sum(map(len, server.bodies))
        alone = bare(url, server.bodies)
        print(f"{points} points in batches of about {BATCH}, {size / points:.0f} bytes a point")
        print(f"{'':24}{'points/s':>12}{'s':>8}{'ratio':>8}")
        print(f"{'bare posting':24}{points / alone:>12.0f}{alone:>8.1f}{1:>8.2f}")
        print(f"{'follower':24}{points / took:>12.0f}{took:>8.1f}{alone / took:>8.2f}")
        print(f"CPU of the follower's process: {1e6 * cpu / points:.1f} us a point")
        server.close()
        beside(store, follower_settings(folder, url, "caves"))
        ledger.db.close()
        store.close()
    sink.kill()


if __name__ == "__main__":
    main()
