"""How much room readings take one by one, how fast they go, and what a file that can shrink costs at intake."""

import sqlite3
import time
from contextlib import closing
from pathlib import Path
from tempfile import TemporaryDirectory

from collector.readings.retention import BYTES_A_READING, thin_out
from collector.readings.rollups import follow
from collector.readings.schema import SCRIPTS, VERSION
from collector.readings.store import SqliteReadings
from tests.builders import a_sample, an_arrival, ms

READINGS, A_COMMIT = 400_000, 2_000


def fill(store: SqliteReadings) -> float:
    """Readings a second, in commits as the intake makes them."""
    began = time.monotonic()
    for first in range(0, READINGS, A_COMMIT):
        store.add([an_arrival(a_sample(first + i, 12 + (first + i) % 97 / 10)) for i in range(A_COMMIT)])
    return READINGS / (time.monotonic() - began)


def without_shrinking(path: Path) -> None:
    """A file as version 0.1.0 began it."""
    with closing(sqlite3.connect(path, isolation_level=None)) as db:
        for script in SCRIPTS:
            db.executescript(script)
        db.execute(f"PRAGMA user_version={VERSION}")


def size(store: SqliteReadings) -> int:
    with store.alone() as db:
        db.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    return store.path.stat().st_size


def main() -> None:
    with TemporaryDirectory() as folder:
        without_shrinking(Path(folder) / "old.sqlite3")
        old, new = SqliteReadings(Path(folder) / "old.sqlite3"), SqliteReadings(Path(folder) / "new.sqlite3")
        before, after = fill(old), fill(new)
        print(f"intake into a file that can shrink: {after / before:.2f} of one that cannot ({after:.0f} a second)")
        raw = size(new)
        print(f"one reading a minute: {raw / READINGS:.1f} bytes a reading (told as {BYTES_A_READING:g})")
        while follow(new):
            pass
        whole, began, steps, longest = size(new), time.monotonic(), 0, 0.0
        more = True
        while more:
            one = time.monotonic()
            more = thin_out(new, ms(READINGS * 0.9) // 600_000 * 600_000, 10**9)
            steps, longest = steps + 1, max(longest, time.monotonic() - one)
        took = time.monotonic() - began
        print(f"{0.9 * READINGS / took:.0f} readings a second go, in {steps} steps of at most {longest * 1_000:.0f} ms")
        print(f"the file shrinks from {whole / 1e6:.1f} to {size(new) / 1e6:.1f} MB; means for ever take the rest")
        old.close()
        new.close()


if __name__ == "__main__":
    main()
