"""A power cut at each commit: the files as they lie on disk then, opened again."""

import subprocess
import time
from pathlib import Path

from collector.readings.store import SqliteReadings
from tests.builders import a_sample, an_arrival
from tests.faults.outcome import Outcome


def copied(store: Path, to: Path) -> Path:
    """The files as they lie there now; the shared memory is not a file that a cut leaves anything of.

    A process of its own copies them: closing them here would take away SQLite's locks on them in this process
    (sqlite.org/howtocorrupt.html, 2.2).
    """
    to.mkdir()
    paths = [store.with_name(store.name + ending) for ending in ("", "-wal", "-journal")]
    subprocess.run(["/bin/cp", *(path for path in paths if path.exists()), to], check=True)
    return to / store.name


def stored(path: Path) -> list[float]:
    """What a start after the cut finds."""
    store = SqliteReadings(path)
    with store.alone() as db:
        assert db.execute("PRAGMA integrity_check").fetchone() == ("ok",)
        found = [row[0] for row in db.execute("SELECT value FROM reading ORDER BY taken_ms")]
    store.close()
    return found


def cut_at_commits(folder: Path, commits: int) -> Outcome:
    """Cut after each commit; SQLite's manual: synchronous 2 is FULL, so that the commit itself was synced."""
    store, outcome = SqliteReadings(folder / "readings.sqlite3"), Outcome("power cut at a commit, synced (FULL)")
    with store.alone() as db:
        assert db.execute("PRAGMA synchronous").fetchone() == (2,)
    for number in range(commits):
        store.add([an_arrival(a_sample(number, float(number)))])
        cut = copied(store.path, folder / f"cut{number}")
        began = time.monotonic()
        found = stored(cut)
        outcome.recovered_s.append(time.monotonic() - began)
        outcome.lost += len({float(i) for i in range(number + 1)} - set(found))
        outcome.doubled += len(found) - len(set(found))
    store.close()
    outcome.times = outcome.sent = commits
    return outcome
