"""What each page of the wheel book costs with 300 wheels and ten years of entries, as a multiple of an empty page.

Run with `python -m tests.bench.bench_pages`. It prints a table and asserts nothing. The promise: at most 8 empty pages
and 50 kB compressed. An empty page is *More*, through the same stack, taking turns with the page that is measured.
"""

import gzip
import sys
import tempfile
from collections.abc import Mapping
from pathlib import Path
from statistics import median
from time import perf_counter, process_time

from fastapi.testclient import TestClient

from collector.clock import ManualClock
from collector.records.engine import open_records
from dashboard.app import create_app
from dashboard.settings import DashboardSettings
from dashboard.wheels.calendar_feed import new_feed
from tests.bench.bench_chart import LOOPBACK
from tests.bench.decade import Decade, a_decade
from tests.bench.stored_caves import NOW_AT, make_house

CAVES, DAYS, EVERY_MIN = 3, 365, 10
RUNS = 9
BAR = 8


def paths(found: Decade, cave: str, token: str) -> Mapping[str, str]:
    """The pages, by what a person calls them."""
    wheel = f"/wheels/{found.wheel}"
    return {
        "wheels": "/wheels",
        "wheels that are gone": "/wheels/finished",
        "one wheel": wheel,
        "at the wheel": f"/at/{found.wheel}",
        "the round": "/round",
        "makes": "/makes",
        "one make": f"/makes/{found.make}",
        "a wheel side by side": f"{wheel}/side-by-side",
        "its chart": f"{wheel}/side-by-side/figure",
        "a cave side by side": f"/caves/{cave}/side-by-side",
        "a cave's chart beside wheels": f"/caves/{cave}/side-by-side/figure",
        "by age": "/wheels/by-age",
        "ripe when": "/wheels/ripe",
        "calendar feed": f"/calendar/{token}.ics",
        "waiting": "/waiting",
        "one cave": f"/caves/{cave}",
        "vat or cave, one note": f"/rind/notes/{found.note}/vat-or-cave",
        "vat or cave, a kind": "/rind/kinds/black_spots/vat-or-cave",
        "vat or cave, a kind, a year": "/rind/kinds/black_spots/vat-or-cave?span=year",
    }


def measure(client: TestClient, path: str) -> tuple[float, float, float, int]:
    """Median processor time of the page and of an empty one [ms], wall time [ms], and its bytes compressed."""
    own, empty, wall, content = [], [], [], b""
    for number in range(RUNS + 1):
        for target, times in (("/more", empty), (path, own)):
            began, cpu = perf_counter(), process_time()
            answer = client.get(target)
            took = (process_time() - cpu) * 1_000
            if number:
                times.append(took)
                if times is own:
                    wall.append((perf_counter() - began) * 1_000)
            content = answer.raise_for_status().content
    return median(own), median(empty), median(wall), len(gzip.compress(content, 6))


def main() -> None:
    wanted = sys.argv[1:]
    with tempfile.TemporaryDirectory() as folder:
        settings, caves = make_house(Path(folder), CAVES, DAYS, EVERY_MIN)
        engine = open_records(settings.records_at)
        found = a_decade(engine, caves, NOW_AT)
        with engine.begin() as db:
            token = new_feed(db, "Keeper", NOW_AT)
        engine.dispose()
        print(f"{found.entries} entries of ten years, 300 wheels there and 900 gone; {CAVES} caves. Bar: {BAR}\n")
        print(f"{'page':<30}{'empties':>9}{'cpu ms':>9}{'wall ms':>9}{'packed kB':>11}")
        app = create_app(settings, DashboardSettings(sign_in="open-on-loopback"), ManualClock(NOW_AT))
        with TestClient(app, "http://127.0.0.1:8000", client=LOOPBACK, follow_redirects=False) as client:
            pages = paths(found, caves[0], token)
            if unknown := set(wanted) - set(pages):
                raise SystemExit(f"no page is called {', '.join(sorted(unknown))}; there are: {', '.join(pages)}")
            for word, path in pages.items():
                if wanted and word not in wanted:
                    continue
                own, empty, wall, packed = measure(client, path)
                over = "  over" if own / empty > BAR else ""
                print(f"{word:<30}{own / empty:>9.1f}{own:>9.1f}{wall:>9.1f}{packed / 1_000:>11.1f}{over}", flush=True)


if __name__ == "__main__":
    main()
