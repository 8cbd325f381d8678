"""The follower's throughput beside bare posting of the same bodies, and what it costs the intake.

The other side is a sink in a process of its own that reads what comes and answers 204: what a database makes of it is
not ours to measure. Run with `python -m tests.bench.bench_follower [days]`; it prints tables and asserts nothing.
"""

import gzip
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Sequence
from pathlib import Path
from threading import Event

import urllib3

from collector.clock import SystemClock
from collector.readings.follower.follow import BATCH, SHARE, Follower
from collector.readings.follower.ledger import Ledger
from collector.readings.follower.server import InfluxServer
from collector.readings.model import Arrival, Sample
from collector.readings.schema import open_reader
from collector.readings.store import SqliteReadings
from tests.bench.stored_caves import NOW_MS, make_house
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
COMMITS, ROWS = 400, 600  # what the intake commits at once when it is busy: 200 messages of three records


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


def follower(store: SqliteReadings, server: InfluxServer, share: float) -> tuple[Follower, Ledger]:
    ledger = Ledger(store, open_reader(store.path))
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
        still = commits(store, NOW_MS)
        with store.transaction() as db:
            db.execute("DELETE FROM consumer WHERE name='follower'")
        again, _ = follower(store, InfluxServer(follower_settings(folder, url, "caves")), SHARE)
        stop = Event()
        thread = threading.Thread(target=again.run, args=(stop,))
        thread.start()
        busy = commits(store, NOW_MS + 86_400_000)
        stop.set()
        thread.join()
        still = (still + commits(store, NOW_MS + 2 * 86_400_000)) / 2  # before and after: the machine has moods
        print(f"{'intake, commits of ' + str(ROWS):24}{'commits/s':>12}{'':8}{'ratio':>8}")
        print(f"{'alone':24}{COMMITS / still:>12.0f}{'':8}{1:>8.2f}")
        print(f"{'beside a long copying':24}{COMMITS / busy:>12.0f}{'':8}{still / busy:>8.2f}")
        print(f"{again.state.points} points were copied meanwhile")
        ledger.db.close()
        store.close()
    sink.kill()


if __name__ == "__main__":
    main()
