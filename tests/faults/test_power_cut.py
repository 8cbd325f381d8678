"""A power cut, as far as one can be had without pulling the plug: what is on disk at each commit opens again whole.

The kernel's own cache cannot be dropped here; that each commit is synced is asserted instead, and that any tail that a
cut might leave of the log (cut short anywhere, or with rubbish in it) costs only what was never acknowledged.
"""

import os
import random
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from sqlalchemy import insert, select

from collector.readings.schema import open_writer
from collector.readings.store import SqliteReadings
from collector.records.engine import open_records
from collector.records.tables import setting
from tests.builders import a_sample, an_arrival
from tests.collector.records_fixtures import empty_records, records_path
from tests.faults.power_cut import copied, cut_at_commits, stored

__all__ = ["empty_records", "records_path"]

COMMITS = max(20, int(os.environ.get("RINDWATCH_TEST_KILLS", "5")))


def test_every_commit_is_synced_before_it_counts(tmp_path: Path, records_path: Path) -> None:
    # SQLite's manual: synchronous 2 is FULL; with a write-ahead log the log is then synced at each commit.
    with closing(open_writer(tmp_path / "readings.sqlite3")) as db:
        assert db.execute("PRAGMA synchronous").fetchone() == (2,)
        assert db.execute("PRAGMA journal_mode").fetchone() == ("wal",)
    engine = open_records(f"sqlite:///{records_path}")
    with engine.connect() as connection:
        assert connection.exec_driver_sql("PRAGMA synchronous").scalar() == 2
        assert connection.exec_driver_sql("PRAGMA journal_mode").scalar() == "delete"
    engine.dispose()


def test_what_was_acknowledged_is_there_after_a_cut_at_any_commit(tmp_path: Path) -> None:
    outcome = cut_at_commits(tmp_path, COMMITS)
    assert (outcome.times, outcome.lost, outcome.doubled) == (COMMITS, 0, 0)


def test_a_cut_within_a_commit_leaves_all_of_it_or_nothing(tmp_path: Path) -> None:
    store = SqliteReadings(tmp_path / "readings.sqlite3")
    store.add([an_arrival(a_sample(0, 0.0))])
    with store.transaction() as db:
        db.execute("PRAGMA cache_size=5")  # so that pages are written before the commit
        rows = [(1, 10_000_000 + i, 1.0, 1, 0, 0) for i in range(5_000)]
        db.executemany("INSERT INTO reading VALUES (?,?,?,?,?,?)", rows)
        within = copied(store.path, tmp_path / "within")
    assert stored(within) == [0.0]
    assert len(stored(copied(store.path, tmp_path / "after"))) == 5_001
    store.close()


def test_a_log_cut_short_or_spoilt_anywhere_costs_only_the_end(tmp_path: Path) -> None:
    """Whatever the tail looks like: what is found is the first so many commits, whole and in order."""
    store, chance = SqliteReadings(tmp_path / "readings.sqlite3"), random.Random(3)
    ends = []
    for number in range(12):
        store.add([an_arrival(a_sample(number, float(number)), a_sample(number, number + 0.5, "other"))])
        ends.append((tmp_path / "readings.sqlite3-wal").stat().st_size)
    for number in range(25):
        path = copied(store.path, tmp_path / f"tail{number}")
        log = path.with_name(path.name + "-wal")
        whole = log.read_bytes()
        at = chance.randrange(32, len(whole))
        log.write_bytes(whole[:at] + (b"" if number % 2 else chance.randbytes(len(whole) - at)))
        found = stored(path)
        commits = len(found) // 2
        assert found == sorted(found)
        assert len(found) == 2 * commits
        assert commits >= sum(end <= at for end in ends)
    store.close()


@pytest.mark.parametrize("when", ["within", "after"])
def test_the_records_keep_what_was_committed(records_path: Path, tmp_path: Path, when: str) -> None:
    engine = open_records(f"sqlite:///{records_path}")
    with engine.begin() as connection:
        connection.execute(insert(setting), [{"key": "a", "value": 1}])
    with engine.begin() as connection:
        connection.exec_driver_sql("PRAGMA cache_size=2")
        connection.execute(insert(setting), [{"key": f"b{i}", "value": "x" * 500} for i in range(200)])
        if when == "within":
            path = copied(records_path, tmp_path / "cut")
    if when == "after":
        path = copied(records_path, tmp_path / "cut")
    engine.dispose()
    again = open_records(f"sqlite:///{path}")
    with again.begin() as connection:
        keys = set(connection.execute(select(setting.c.key)).scalars())
    again.dispose()
    with closing(sqlite3.connect(path)) as db:
        assert db.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    assert "a" in keys
    assert sum(key.startswith("b") for key in keys) == (0 if when == "within" else 200)
