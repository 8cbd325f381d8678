"""What the chart of a year of one-minute readings costs beside selecting its raw rows.

Run with `python -m tests.bench.bench_chart`. It prints a table of ratios and asserts nothing. The promise: at most
1/10 of the time of selecting the raw rows, and at most 60 kB packed.
"""

import gzip
import json
import tempfile
from collections.abc import Callable
from functools import partial
from pathlib import Path
from statistics import median
from time import process_time

from fastapi.testclient import TestClient

from collector.air.read import AirReader
from collector.clock import ManualClock
from collector.readings.reader import Readings, series
from collector.records.engine import open_records, reading
from collector.records.places import load_facts
from dashboard.app import create_app
from dashboard.charts.air_figure import air_figure
from dashboard.charts.drawing import drawing
from dashboard.charts.spans import SPANS, Window, window
from dashboard.household import Household
from dashboard.settings import DashboardSettings
from tests.bench.stored_caves import NOW_AT, NOW_MS, make_house

RUNS = 9
HOUSE = Household(time_zone="Europe/Zurich")
LOOPBACK = ("127.0.0.1", 50_000)


def milliseconds(call: Callable[[], object], runs: int = RUNS) -> float:
    """Processor time: the median of a few runs, after one that warms the caches [ms]. What else runs is not in it."""
    call()
    times = []
    for _ in range(runs):
        start = process_time()
        call()
        times.append(process_time() - start)
    return median(times) * 1_000


def line(word: str, took: float, bare: float, packed: int | None = None) -> None:
    size = "" if packed is None else f"{packed / 1000:>10.1f}"
    print(f"{word:<64}{took:>8.1f}{took / bare:>8.3f}{size}")


def packed_figure(reader: AirReader, place_id: str, shown: Window) -> bytes:
    """All that the server does for a chart, but for asking who looks."""
    figure = air_figure(drawing(reader, place_id, shown), HOUSE)
    return gzip.compress(json.dumps(figure, allow_nan=False, separators=(",", ":")).encode(), 6, mtime=0)


def charts(readings: Readings, reader: AirReader, place_id: str) -> float:
    """Prints every span; returns what selecting the raw rows of a year takes [ms]."""
    numbers = [channel.id for channel in readings.channels()]
    since = NOW_MS - 365 * 86_400_000
    query = "SELECT taken_ms, value FROM reading WHERE channel=? AND taken_ms>=? ORDER BY taken_ms"
    bare = milliseconds(lambda: [readings.db.execute(query, (n, since)).fetchall() for n in numbers], 5)
    arrays = milliseconds(lambda: [series(readings.db, n, since, NOW_MS) for n in numbers], 3)
    print("a year of one-minute temperature and humidity (2 x 525,600)".ljust(64) + "  cpu ms   ratio kB packed")
    line("baseline: select the raw rows, time and value", bare, bare)
    line("the same rows as arrays, as other parts read them", arrays, bare)
    for span in SPANS.values():
        shown = window(span.name, NOW_MS, since)
        made = partial(packed_figure, reader, place_id, shown)
        line(f"chart, {span.word}, packed", milliseconds(made), bare, len(made()))
    return bare


def main() -> None:
    with tempfile.TemporaryDirectory() as folder:
        settings, (place_id,) = make_house(Path(folder), caves=1, days=366)
        readings, records = Readings(settings.readings_path), open_records(settings.records_at)
        with reading(records) as db:
            reader = AirReader(readings.db, load_facts(db))
        bare = charts(readings, reader, place_id)
        own = DashboardSettings(sign_in="open-on-loopback")
        client = TestClient(create_app(settings, own, ManualClock(NOW_AT)), "http://127.0.0.1:8000", client=LOOPBACK)
        for word, path in (("chart, year", "/figure?span=year"), ("page with its table, year", "?span=year")):
            asked = partial(client.get, f"/caves/{place_id}{path}")
            line(f"{word}, through the whole stack", milliseconds(asked), bare)
        readings.close()


if __name__ == "__main__":
    main()
