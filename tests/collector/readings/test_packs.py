"""Packed rollups are the rollups, whatever comes late."""

from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from collector.readings import packs
from collector.readings.reader import rollups
from collector.readings.rollups import follow
from collector.readings.schema import SCRIPTS, open_writer
from collector.readings.store import SqliteReadings
from tests.builders import START_MS, a_sample, a_stretch_of, an_arrival, ms

DAY_MIN = 24 * 60
LATER_MS = START_MS + 100 * DAY_MIN * 60_000


@pytest.fixture
def store(tmp_path: Path) -> Iterator[SqliteReadings]:
    """Forty days of hourly readings, rolled up."""
    store = SqliteReadings(tmp_path / "r.sqlite3")
    store.add(a_stretch_of([10 + i % 7 for i in range(40 * 24)], every_min=60))
    follow(store)
    yield store
    store.close()


def by_row(store: SqliteReadings, from_ms: int, to_ms: int) -> list[tuple[float, ...]]:
    with store.transaction() as db:
        return db.execute(
            f"SELECT {','.join(packs.COLUMNS)} FROM rollup WHERE channel=1 AND start_ms>=? AND start_ms<?"
            " ORDER BY start_ms, unit",
            (from_ms, to_ms),
        ).fetchall()


def through_packs(store: SqliteReadings, from_ms: int, to_ms: int) -> list[tuple[float, ...]]:
    with store.transaction() as db:
        found = rollups(db, 1, from_ms, to_ms)
    columns = (getattr(found, name).tolist() for name in packs.COLUMNS)
    return list(zip(*columns, strict=True))


def made(store: SqliteReadings, now_ms: int = LATER_MS) -> int:
    with store.transaction() as db:
        while packs.make_due(db, now_ms):
            pass
        return int(db.execute("SELECT count(*) FROM pack WHERE data IS NOT NULL").fetchone()[0])


@pytest.mark.parametrize(
    ("from_ms", "to_ms"),
    [(0, LATER_MS), (ms(5 * DAY_MIN), ms(35 * DAY_MIN)), (ms(12 * DAY_MIN), ms(13 * DAY_MIN)), (LATER_MS, LATER_MS)],
)
def test_any_span_read_through_packs_is_what_stands_in_the_rows(
    store: SqliteReadings, from_ms: int, to_ms: int
) -> None:
    expected = by_row(store, from_ms, to_ms)
    assert through_packs(store, from_ms, to_ms) == expected
    assert made(store) >= 4
    assert through_packs(store, from_ms, to_ms) == expected


def test_a_late_reading_drops_the_packs_that_it_touches(store: SqliteReadings) -> None:
    before = made(store)
    store.add([an_arrival(a_sample(15 * DAY_MIN + 30, 99.0))])
    follow(store)
    assert through_packs(store, 0, LATER_MS) == by_row(store, 0, LATER_MS)
    assert 99.0 in [row[4] for row in through_packs(store, 0, LATER_MS)]
    with store.transaction() as db:
        kept = db.execute("SELECT count(*) FROM pack WHERE data IS NOT NULL").fetchone()[0]
    assert kept == before - 1
    assert made(store) == before
    assert through_packs(store, 0, LATER_MS) == by_row(store, 0, LATER_MS)


def test_a_block_that_is_not_over_is_left_alone(store: SqliteReadings) -> None:
    assert made(store, START_MS) == 0
    assert made(store, START_MS + packs.BLOCK_MS + packs.SETTLED_MS) == 1


def test_a_block_from_which_everything_went_is_packed_empty(store: SqliteReadings) -> None:
    with store.transaction() as db:
        db.execute("DELETE FROM rollup")
    assert made(store) >= 4
    assert through_packs(store, 0, LATER_MS) == []


def test_times_and_values_come_out_in_the_kinds_that_rollups_promise(store: SqliteReadings) -> None:
    made(store)
    with store.transaction() as db:
        found = rollups(db, 1, 0, LATER_MS)
    assert (found.start_ms.dtype, found.covered_ms.dtype, found.mean.dtype) == (np.int64, np.int64, np.float64)
    assert found.mean.flags["C_CONTIGUOUS"]


def test_a_store_from_before_packs_has_them_made(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "r.sqlite3"
    monkeypatch.setattr("collector.readings.schema.SCRIPTS", SCRIPTS[:1])
    monkeypatch.setattr("collector.readings.schema.VERSION", 1)
    db = open_writer(path)
    db.execute("INSERT INTO rollup VALUES (1, ?, 1, 10, 1.0, 2.0, 1.5, 600000)", (packs.BLOCK_MS * 2000,))
    db.close()
    monkeypatch.undo()
    db = open_writer(path)
    assert db.execute("SELECT channel, block, data FROM pack").fetchall() == [(1, 2000, None)]
    db.close()


def test_a_store_from_before_spreads_has_its_packs_made_anew_and_spreads_guessed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "r.sqlite3"
    monkeypatch.setattr("collector.readings.schema.SCRIPTS", SCRIPTS[:4])
    monkeypatch.setattr("collector.readings.schema.VERSION", 4)
    db = open_writer(path)
    at_ms = packs.BLOCK_MS * 2000
    db.execute("INSERT INTO unit VALUES (1, 'Cel')")
    db.execute("INSERT INTO rollup VALUES (1, ?, 1, 10, 1.0, 2.0, 1.5, 600000)", (at_ms,))
    db.execute("INSERT INTO pack VALUES (1, 2000, ?)", (bytes(34),))
    db.close()
    monkeypatch.undo()
    db = open_writer(path)
    assert db.execute("SELECT channel, block, data FROM pack").fetchall() == [(1, 2000, None)]
    guessed = [pytest.approx(np.std(np.linspace(1, 2, 10)))]
    assert rollups(db, 1, 0, at_ms + 1).spread.tolist() == guessed
    assert packs.make_due(db, at_ms + 2 * packs.BLOCK_MS) == 1
    assert rollups(db, 1, 0, at_ms + 1).spread.tolist() == guessed
    db.close()
