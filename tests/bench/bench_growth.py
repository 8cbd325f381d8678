"""How a house grows: bytes a reading, in the order of life and sorted, and how long questions take at 1 and 10 years.

One-minute readings of temperature and humidity. *In the order of life* the channels take turns, minute by minute, which
could leave the tree's pages less full than a history that is written channel by channel. Ten caves are measured over
the days that are asked for and said per reading. Ten years of them (3650) take three quarters of an hour and 9 GB.
Run with `python -m tests.bench.bench_growth [days]`; it prints tables and asserts nothing.
"""

import sqlite3
import sys
import tempfile
import time
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

from collector.readings import packs
from collector.readings.reader import newest_ms, rollups, series
from collector.readings.rollups import rebuild
from collector.readings.schema import open_reader
from collector.readings.store import SqliteReadings
from collector.settings import Settings
from tests.bench.stored_caves import DAY_MS, NOW_MS, make_house

RAW_BYTES = 16  # a time and a value of eight bytes each
CAVES = 10
SPARE = 5  # questions asked; the middle time counts


def live_order(settings: Settings, target: Path, days: int) -> int:
    """Write the same readings minute by minute, as they would have come; returns their number."""
    store = SqliteReadings(target)
    start = NOW_MS - days * DAY_MS
    with closing(sqlite3.connect(settings.readings_path)) as source, store.transaction() as db:
        for table in ("unit", "probe", "channel"):
            rows = source.execute(f"SELECT * FROM {table}").fetchall()
            db.executemany(f"INSERT INTO {table} VALUES ({','.join('?' * len(rows[0]))})", rows)
    with closing(sqlite3.connect(settings.readings_path)) as source:
        for begin in range(start, NOW_MS, DAY_MS):
            found = source.execute(
                "SELECT * FROM reading WHERE channel IN (SELECT id FROM channel) AND taken_ms>=? AND taken_ms<?",
                (begin, begin + DAY_MS),
            ).fetchall()
            found.sort(key=lambda row: row[1])
            with store.transaction() as db:
                db.executemany("INSERT INTO reading VALUES (?,?,?,?,?,?)", found)
    with store.transaction() as db:
        for (channel,) in db.execute("SELECT id FROM channel").fetchall():
            rebuild(db, channel, start, NOW_MS)
        while packs.make_due(db, NOW_MS):
            pass
        number = int(db.execute("SELECT count(*) FROM reading").fetchone()[0])
    store.close()
    return number


def parts(path: Path) -> dict[str, int]:
    """Bytes of each table; pages that are free but kept are left out."""
    with closing(sqlite3.connect(path)) as db:
        try:
            found = dict(db.execute("SELECT name, sum(pgsize) FROM dbstat GROUP BY name").fetchall())
        except sqlite3.OperationalError:  # SQLite was built without the table that tells
            pages = db.execute("PRAGMA page_count").fetchone()[0] - db.execute("PRAGMA freelist_count").fetchone()[0]
            found = {"all together": pages * db.execute("PRAGMA page_size").fetchone()[0]}
    return {name: int(size) for name, size in found.items() if size > 100_000}


def say_bytes(about: str, path: Path, readings: int) -> None:
    found = parts(path)
    total = sum(found.values())
    print(f"{about:26}{readings:>12}{total / 1e6:>10.1f}{total / readings:>12.1f}{total / readings / RAW_BYTES:>8.2f}")
    for name, size in sorted(found.items(), key=lambda pair: -pair[1]):
        print(f"  {name:24}{'':12}{size / 1e6:>10.1f}{size / readings:>12.1f}")


def middle_ms(ask: Callable[[], object]) -> float:
    times = []
    for _ in range(SPARE):
        began = time.perf_counter()
        ask()
        times.append(1_000 * (time.perf_counter() - began))
    return sorted(times)[SPARE // 2]


def questions(db: sqlite3.Connection, days: int) -> dict[str, float]:
    """Middle times of what pages ask, in ms."""
    first, year = NOW_MS - days * DAY_MS, NOW_MS - 365 * DAY_MS
    return {
        "newest reading": middle_ms(lambda: newest_ms(db, [1])),
        "last day, reading by reading": middle_ms(lambda: series(db, 1, NOW_MS - DAY_MS, NOW_MS)),
        "first day, reading by reading": middle_ms(lambda: series(db, 1, first, first + DAY_MS)),
        "a year by ten minutes": middle_ms(lambda: rollups(db, 1, year, NOW_MS)),
        "everything by ten minutes": middle_ms(lambda: rollups(db, 1, first, NOW_MS)),
    }


def main() -> None:
    days = int(sys.argv[1]) if len(sys.argv) > 1 else 365
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "many").mkdir()
        settings, _ = make_house(folder / "many", CAVES, days)
        number = live_order(settings, folder / "life.sqlite3", days)
        print(f"{CAVES} caves, {days} days, one-minute readings of two quantities")
        print(f"{'':26}{'readings':>12}{'MB':>10}{'bytes each':>12}{'raw':>8}")
        say_bytes("in the order of life", folder / "life.sqlite3", number)
        say_bytes("sorted", settings.readings_path, number)
        asked = {}
        for years in (1, 10):
            (folder / f"{years}").mkdir()
            own, _ = make_house(folder / f"{years}", 1, 365 * years)
            with closing(open_reader(own.readings_path)) as db:
                asked[years] = questions(db, 365 * years)
        print(f"{'one cave, ms':32}{'1 year':>10}{'10 years':>10}{'ratio':>8}")
        for question, one in asked[1].items():
            print(f"{question:32}{one:>10.2f}{asked[10][question]:>10.2f}{asked[10][question] / one:>8.1f}")


if __name__ == "__main__":
    main()
