"""What the caves page costs after ten years, beside an empty page through the same stack.

Run with `python -m tests.bench.bench_caves`. It prints a table of ratios and asserts nothing. The promise: at most 5
empty pages and 30 kB packed. Ten caves by the minute for ten years would be 105 million readings and take hours to
write. The page reads the newest readings and the last 32 hours of rollups by their index, so a reading every ten
minutes (10.5 million) stands for them; one year is measured too, to show that the years do not matter.
"""

import gzip
import tempfile
from collections.abc import Callable, Mapping
from functools import partial
from itertools import count
from pathlib import Path
from statistics import median
from time import process_time

from fastapi.testclient import TestClient

from collector.clock import ManualClock
from collector.readings.model import Arrival, Sample
from collector.readings.rollups import follow
from collector.readings.store import SqliteReadings
from collector.settings import Settings
from dashboard.app import create_app
from dashboard.settings import DashboardSettings
from tests.bench.bench_chart import LOOPBACK
from tests.bench.stored_caves import NOW_AT, NOW_MS, make_house

CAVES = 10
ROUNDS = 25
EMPTY, NOTHING_NEW = "an empty page", "its cards again, nothing new"
OPENED, HEARD = "the caves page, as one opens it", "the caves page, every cave heard since"


def new_readings(settings: Settings) -> Callable[[], None]:
    """Has every cave say something new, so that nothing that is kept of it holds."""
    store, minute = SqliteReadings(settings.readings_path), count()

    def say() -> None:
        at = NOW_MS - 300_000 + next(minute) * 1_000
        samples = (
            Sample("temperature", at, 12.5, "Cel", "temperature"),
            Sample("humidity", at, 87.0, "%RH", "humidity"),
        )
        store.add([Arrival(f"probe-{n}", f"rindwatch/probe-{n}/readings", at, samples) for n in range(CAVES)])
        follow(store)

    return say


def cpu_ms(call: Callable[[], object]) -> float:
    """Processor time of one call, all threads of this process [ms]; what else the machine does is not in it."""
    start = process_time()
    call()
    return (process_time() - start) * 1_000


def taking_turns(
    calls: Mapping[str, Callable[[], object]], before: Mapping[str, Callable[[], None]]
) -> dict[str, float]:
    """The median of each call [ms]; they take turns, so that a busy moment of the machine meets them all alike."""
    times: dict[str, list[float]] = {word: [] for word in calls}
    for number in range(ROUNDS + 1):
        for word, call in calls.items():
            before.get(word, lambda: None)()
            took = cpu_ms(call)
            if number:  # the first round warms the caches
                times[word].append(took)
    return {word: median(took) for word, took in times.items()}


def measure(years: int) -> None:
    with tempfile.TemporaryDirectory() as folder:
        settings, _ids = make_house(Path(folder), CAVES, days=365 * years, every_min=10)
        own = DashboardSettings(sign_in="open-on-loopback")
        app = create_app(settings, own, ManualClock(NOW_AT))
        with TestClient(app, "http://127.0.0.1:8000", client=LOOPBACK) as client:
            page = client.get("/caves")
            tag = {"If-None-Match": client.get("/caves/cards").headers["etag"]}
            again = partial(client.get, "/caves/cards", headers=tag)
            times = taking_turns({EMPTY: partial(client.get, "/more"), NOTHING_NEW: again}, {})
            opened = partial(client.get, "/caves")
            times |= taking_turns({EMPTY: partial(client.get, "/more"), OPENED: opened}, {})
            heard = {HEARD: new_readings(settings)}
            bare = taking_turns({EMPTY: partial(client.get, "/more"), HEARD: opened}, heard)
            size = settings.readings_path.stat().st_size / 1e6
    times[HEARD] = bare[HEARD]
    print(f"{years} year(s), {CAVES} caves, {size:,.0f} MB of readings".ljust(56) + "  cpu ms   ratio")
    for word, took in times.items():
        print(f"{word:<56}{took:>8.1f}{took / times[EMPTY]:>8.2f}")
    print(f"packed: {len(gzip.compress(page.content, 6)) / 1000:.1f} kB\n")


def main() -> None:
    for years in (1, 10):
        measure(years)


if __name__ == "__main__":
    main()
