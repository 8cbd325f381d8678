"""What is in a database is told so that any changed value shows, also in the sums of tables of millions of rows."""

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from collector.backup.contents import contents
from collector.readings.rollups import follow
from collector.readings.schema import SCRIPTS, open_writer
from collector.readings.store import SqliteReadings
from tests.builders import a_stretch_of


@pytest.fixture
def path(tmp_path: Path) -> Path:
    store = SqliteReadings(tmp_path / "r.sqlite3")
    store.add(a_stretch_of([12.0, 12.5, 13.0, 12.25] * 20))
    follow(store)
    store.close()
    return tmp_path / "r.sqlite3"


@pytest.mark.parametrize("column", ["count", "low", "high", "mean", "covered_ms", "spread"])
def test_any_changed_value_of_a_rollup_shows(path: Path, column: str) -> None:
    before = contents(path)
    with closing(sqlite3.connect(path, isolation_level=None)) as db:
        db.execute(f"UPDATE rollup SET {column}={column}+1 WHERE start_ms=(SELECT min(start_ms) FROM rollup)")
    after = contents(path)
    assert {table for table in before if before[table] != after[table]} == {"rollup"}


def test_a_copy_from_before_a_column_was_kept_is_still_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "r.sqlite3"
    monkeypatch.setattr("collector.readings.schema.SCRIPTS", SCRIPTS[:4])
    monkeypatch.setattr("collector.readings.schema.VERSION", 4)
    with closing(open_writer(path)) as db:
        db.execute("INSERT INTO rollup VALUES (1, 600000, 1, 10, 1.0, 2.0, 1.5, 600000)")
    assert contents(path)["rollup"][0] == 1
