"""A million rows of an old log through the import folder, beside raw inserts of the same rows.

Run with `python -m tests.bench.bench_import [rows]`. It prints a table of ratios and asserts nothing.
"""

import sqlite3
import sys
import tempfile
import time
from collections.abc import Mapping
from datetime import UTC, datetime, timedelta
from pathlib import Path
from types import MappingProxyType

from collector.clock import SystemClock
from collector.importing.csv_file import write_form
from collector.importing.csv_form import LogForm, ValueColumn
from collector.importing.folder import ImportFolder
from collector.intake.intake import Intake
from collector.readings.store import SqliteReadings
from collector.records.engine import open_records
from collector.records.migrate import migrate

START_AT = datetime(2023, 1, 1, tzinfo=UTC)
ROWS = 1_000_000


class NoChoices:
    """Nobody chose anything."""

    filters = ()
    hints: Mapping[str, object] = MappingProxyType({})


def write_log(path: Path, rows: int) -> None:
    """One value a minute, as many loggers write it."""
    with path.open("w") as file:
        file.write("Date;Humidity (%)\n")
        for i in range(rows):
            file.write(f"{START_AT + timedelta(minutes=i):%d.%m.%Y %H:%M:%S};{80 + i % 97 / 10:.1f}\n")


def take_in(folder: Path, rows: int) -> float:
    """Seconds of the collector's time for the whole file."""
    imports = folder / "import"
    imports.mkdir()
    write_log(imports / "old.csv", rows)
    columns = (ValueColumn(1, "humidity", "humidity", "%RH"),)
    form = LogForm("utf-8-sig", ";", ".", 1, (0,), "dmy", "Europe/Berlin", True, columns, "old-1", "old-1/log")
    write_form(imports / "old.csv", form)
    records = open_records(f"sqlite:///{folder / 'records.sqlite3'}")
    migrate(records)
    store = SqliteReadings(folder / "readings.sqlite3")
    intake = Intake(store, SystemClock(), NoChoices(), lambda _kind, _said: None)  # type: ignore[arg-type]
    work = ImportFolder(imports, store, records, SystemClock(), intake)
    began = time.perf_counter()
    while work.step():
        pass
    spent = time.perf_counter() - began
    store.close()
    return spent


def insert(folder: Path, source: Path) -> tuple[float, int]:
    """Seconds for raw inserts of the same rows into an equal table, with as many rows a commit."""
    with sqlite3.connect(source) as read:
        found = read.execute("SELECT * FROM reading").fetchall()
        schema = read.execute("SELECT sql FROM sqlite_master WHERE name='reading'").fetchone()[0]
    db = sqlite3.connect(folder / "raw.sqlite3", isolation_level=None)
    db.executescript("PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL;")
    db.execute(schema)
    began = time.perf_counter()
    for start in range(0, len(found), 1_000):
        db.execute("BEGIN")
        db.executemany("INSERT INTO reading VALUES (?,?,?,?,?,?)", found[start : start + 1_000])
        db.execute("COMMIT")
    spent = time.perf_counter() - began
    db.close()
    return spent, len(found)


def main() -> None:
    rows = int(sys.argv[1]) if len(sys.argv) > 1 else ROWS
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        ours = take_in(folder, rows)
        raw, kept = insert(folder, folder / "readings.sqlite3")
    print(f"{'rows':>10}{'kept':>10}{'import s':>10}{'rows/s':>10}{'raw s':>8}{'ratio':>8}")
    print(f"{rows:>10}{kept:>10}{ours:>10.1f}{rows / ours:>10.0f}{raw:>8.1f}{ours / raw:>8.1f}")


if __name__ == "__main__":
    main()
