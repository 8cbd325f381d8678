"""Single readings go only when asked, only where means are made, and what is left answers as before."""

import os
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from collector.clock import ManualClock
from collector.keep_raw import KeepRaw, choose, chosen_d
from collector.readings.raw_from import oldest_ms, raw_from_ms
from collector.readings.reader import rollups, series
from collector.readings.retention import DAY_MS, KEPT_BEFORE, PAGES_AT_ONCE, cut_ms, going, thin_out
from collector.readings.rollups import follow
from collector.readings.store import SqliteReadings
from collector.records.columns import from_ms
from collector.records.engine import open_records
from tests.builders import START_MS, a_sample, a_stretch_of, an_arrival, ms

DAYS, EVERY_MIN = 100, 30
NOW_MS = START_MS + DAYS * DAY_MS
CUT_MS = cut_ms(NOW_MS, 90)
SEEN = 10**9


@pytest.fixture
def store(tmp_path: Path) -> Iterator[SqliteReadings]:
    store = SqliteReadings(tmp_path / "readings.sqlite3")
    values = [12 + i % 11 / 10 for i in range(DAYS * 1_440 // EVERY_MIN)]
    store.add(a_stretch_of(values, EVERY_MIN))
    store.add(a_stretch_of(values[::3], EVERY_MIN * 3, field="humidity", unit="%RH", probe="attic"))
    rolled(store)
    yield store
    store.close()


def rolled(store: SqliteReadings) -> None:
    while follow(store):
        pass


def means(store: SqliteReadings, channel: int) -> list[tuple[object, ...]]:
    with store.alone() as db:
        return db.execute("SELECT * FROM rollup WHERE channel=? ORDER BY start_ms", (channel,)).fetchall()


def thinned(store: SqliteReadings) -> None:
    while thin_out(store, CUT_MS, SEEN):
        pass


def test_what_would_go_is_told_and_exactly_that_goes(store: SqliteReadings) -> None:
    with store.alone() as db:
        told = going(db, CUT_MS)
        before = db.execute("SELECT count(*) FROM reading").fetchone()[0]
    assert told.readings == 480 + 160 - 2 * KEPT_BEFORE  # ten days of both channels, but for a handful of each
    assert (told.of, told.from_ms) == (before, START_MS)
    assert START_MS < told.to_ms < CUT_MS
    thinned(store)
    with store.alone() as db:
        assert db.execute("SELECT count(*) FROM reading").fetchone()[0] == before - told.readings
        assert db.execute("SELECT min(taken_ms) FROM reading").fetchone()[0] > told.from_ms
        assert going(db, CUT_MS).readings == 0
        assert oldest_ms(db, 1) == START_MS


def test_the_means_are_all_there_and_those_after_can_be_made_anew_to_the_last_bit(store: SqliteReadings) -> None:
    before = {channel: means(store, channel) for channel in (1, 2)}
    thinned(store)
    assert {channel: means(store, channel) for channel in (1, 2)} == before
    store.log_change(1, START_MS, NOW_MS, "hold")
    store.log_change(2, START_MS, NOW_MS, "hold")
    rolled(store)
    assert {channel: means(store, channel) for channel in (1, 2)} == before


def test_a_late_reading_just_behind_the_cut_changes_only_what_lies_behind_it(store: SqliteReadings) -> None:
    thinned(store)
    before = [row for row in means(store, 1) if row[1] < CUT_MS]  # type: ignore[operator]
    late = (CUT_MS - START_MS) / 60_000 + 5
    assert store.add([an_arrival(a_sample(late, 30.0), minute=DAYS * 1_440)]).kept == 1
    rolled(store)
    assert [row for row in means(store, 1) if row[1] < CUT_MS] == before  # type: ignore[operator]
    assert max(row[5] for row in means(store, 1)) == 30.0  # type: ignore[type-var]


def test_what_comes_from_before_is_set_aside_with_the_reason(store: SqliteReadings) -> None:
    thinned(store)
    old, new = a_sample(60, 5.0), a_sample(DAYS * 1_440, 6.0)
    assert store.add([an_arrival(old, new, minute=DAYS * 1_440)]).kept == 1
    assert store.add([an_arrival(old, probe="log")]).kept == 0
    with store.alone() as db:
        reasons = db.execute("SELECT topic, reason FROM reject").fetchall()
    day = f"{from_ms(CUT_MS):%Y-%m-%d}"
    assert all(f"older than the readings that are kept one by one, which begin on {day}" in r for _, r in reasons)
    assert len(reasons) == 2


def test_nothing_goes_while_means_or_rules_or_the_follower_wait_for_it(store: SqliteReadings) -> None:
    store.add([an_arrival(a_sample(61, 5.0))])
    assert not thin_out(store, CUT_MS, SEEN)
    rolled(store)
    assert not thin_out(store, CUT_MS, seen_seq=0)
    with store.transaction() as db:
        db.execute("INSERT INTO owed (channel, from_ms, to_ms, raw) VALUES (1, ?, ?, 1)", (ms(0), ms(60)))
    assert not thin_out(store, CUT_MS, SEEN)
    with store.alone() as db:
        assert raw_from_ms(db) is None
        db.execute("DELETE FROM owed")
    thin_out(store, CUT_MS, SEEN)
    with store.alone() as db:
        assert raw_from_ms(db) == CUT_MS


def test_the_cut_never_moves_back(store: SqliteReadings) -> None:
    thinned(store)
    thin_out(store, CUT_MS - 10 * DAY_MS, SEEN)
    with store.alone() as db:
        assert raw_from_ms(db) == CUT_MS


def test_the_file_shrinks_a_little_at_a_time(tmp_path: Path) -> None:
    store = SqliteReadings(tmp_path / "readings.sqlite3")
    for first in range(0, 80_000, 20_000):
        store.add([an_arrival(*(a_sample((first + i) / 2, i % 50) for i in range(20_000)))])
    rolled(store)
    with store.alone() as db:
        db.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    before = os.path.getsize(store.path)
    cut = ms(38_000) // 600_000 * 600_000
    steps = 1
    while thin_out(store, cut, SEEN):
        steps += 1
    with store.alone() as db:
        db.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        assert db.execute("PRAGMA integrity_check").fetchone()[0] == "ok"
        free = db.execute("PRAGMA freelist_count").fetchone()[0]
    store.close()
    assert steps > 8  # never more than a few thousand readings or a megabyte at once
    assert free <= PAGES_AT_ONCE
    assert os.path.getsize(store.path) < 0.55 * before + PAGES_AT_ONCE * 4_096


def test_the_choice_is_kept_and_nothing_goes_without_one(store: SqliteReadings, records_path: Path) -> None:
    records = open_records(f"sqlite:///{records_path}")
    duty = KeepRaw(store, records, ManualClock(from_ms(NOW_MS)))
    assert not duty.step()
    with store.alone() as db:
        assert raw_from_ms(db) is None
    with records.begin() as connection:
        assert chosen_d(connection) == 0
        with pytest.raises(ValueError, match="at least 90, got 89"):
            choose(connection, 89)
        choose(connection, 90)
        connection.exec_driver_sql("INSERT INTO cursor VALUES ('watch', 1000000)")
    while duty.step():
        pass
    with store.alone() as db:
        assert raw_from_ms(db) == CUT_MS
    records.dispose()


def test_series_and_means_of_the_kept_part_read_as_before(store: SqliteReadings) -> None:
    with store.alone() as db:
        raw, rows = series(db, 1, CUT_MS, NOW_MS), rollups(db, 1, START_MS, NOW_MS)
    thinned(store)
    with store.alone() as db:
        assert np.array_equal(series(db, 1, CUT_MS, NOW_MS).value, raw.value)
        assert np.array_equal(rollups(db, 1, START_MS, NOW_MS).mean, rows.mean)
