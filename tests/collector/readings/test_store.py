"""What the SQLite store keeps beside readings, and what it does when the world breaks."""

import sqlite3
from collections.abc import Iterator
from pathlib import Path

import pytest

from collector.errors import SchemaMissing, SchemaOlder, SchemaTooNew, StoreUnavailable
from collector.readings import registry
from collector.readings import store as store_module
from collector.readings.model import Mark, ProbeState, Reject
from collector.readings.reader import Readings
from collector.readings.schema import VERSION, open_reader
from collector.readings.store import SqliteReadings
from tests.builders import a_sample, an_arrival, ms


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "readings.sqlite3"


@pytest.fixture
def store(path: Path) -> Iterator[SqliteReadings]:
    store = SqliteReadings(path)
    yield store
    store.close()


@pytest.fixture
def seen(store: SqliteReadings, path: Path) -> Iterator[Readings]:
    readings = Readings(path)
    yield readings
    readings.close()


def test_the_commit_that_keeps_readings_writes_the_change_log(store: SqliteReadings) -> None:
    store.add([an_arrival(a_sample(3)), an_arrival(a_sample(1)), an_arrival(a_sample(2))])
    (change,) = store.changes(0)
    assert (change.from_ms, change.to_ms, change.cause) == (ms(1), ms(3), "reading")


def test_every_commit_is_synced_before_it_counts(store: SqliteReadings) -> None:
    with store.transaction() as db:
        assert db.execute("PRAGMA synchronous").fetchone() == (2,)  # FULL, https://sqlite.org/pragma.html
        assert db.execute("PRAGMA journal_mode").fetchone() == ("wal",)


def test_a_broken_commit_leaves_nothing_behind(store: SqliteReadings, seen: Readings) -> None:
    def break_half_way() -> None:
        with store.transaction() as db:
            db.execute("INSERT INTO counter VALUES ('x', 1)")
            db.execute("INSERT INTO no_such_table VALUES (1)")

    with pytest.raises(StoreUnavailable, match=r"cannot write to .*"):
        break_half_way()
    assert seen.counter("x") == 0
    store.add([an_arrival()])
    assert len(seen.channels()) == 1


def test_a_new_probe_of_a_broken_commit_gets_its_channel_later(store: SqliteReadings, seen: Readings) -> None:
    def break_it(*_: object) -> None:
        raise sqlite3.OperationalError("disk I/O error")

    original = store._log
    store._log = break_it  # type: ignore[method-assign]
    with pytest.raises(StoreUnavailable, match="1 readings wait"):
        store.add([an_arrival(probe="new")])
    store._log = original  # type: ignore[method-assign]
    assert store.add([an_arrival(probe="new")]).kept == 1
    assert seen.series(seen.channels()[0].id, 0, ms(9)).value.tolist() == [12.0]


def test_nothing_is_taken_into_a_file_that_was_moved_or_removed(store: SqliteReadings, path: Path) -> None:
    """Its log would take every commit and nobody would ever find them: seen with SQLite 3.40."""
    store.add([an_arrival(a_sample(0))])
    aside = path.with_name("aside.sqlite3")
    path.rename(aside)
    for _ in range(2):
        with pytest.raises(StoreUnavailable, match="1 readings wait") as told:
            store.add([an_arrival(a_sample(1))])
        assert "moved or removed" in told.value.reason
        path.write_bytes(b"")  # another file under its name is not it either
    aside.replace(path)
    assert store.add([an_arrival(a_sample(1))]).kept == 1


def test_a_probe_is_known_by_when_and_how_often_it_was_heard(store: SqliteReadings, seen: Readings) -> None:
    store.add([an_arrival(a_sample(1)), an_arrival(a_sample(2)), an_arrival(a_sample(5), probe="b")])
    assert [(p.name, p.messages, p.last_ms) for p in seen.probes()] == [("b", 1, ms(5)), ("cellar-1", 2, ms(2))]


def test_an_old_log_does_not_make_a_probe_heard_now(store: SqliteReadings, seen: Readings) -> None:
    store.add([an_arrival(a_sample(1, mark=Mark.IMPORTED), minute=90_000)])
    assert seen.probes()[0].last_ms == ms(1)


def test_the_last_messages_of_a_probe_are_kept_for_looking_at(store: SqliteReadings, seen: Readings) -> None:
    store.add([an_arrival(a_sample(i), payload=b"m%d" % i) for i in range(7)])
    assert [payload for _, payload, _ in seen.last_messages("cellar-1")] == [b"m6", b"m5", b"m4"]


def test_rejects_are_counted_and_bounded(
    store: SqliteReadings, seen: Readings, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(store_module, "MAX_REJECTS", 3)
    store.add([Reject("t", "odd", b"x", 1), Reject("t", "odd", b"y", 2)])
    store.add([Reject("t", f"reason {i}", b"z", 10 + i) for i in range(5)])
    assert seen.counter("reject") == 7
    assert [reason for _, reason, *_ in seen.rejects()] == ["reason 4", "reason 3", "reason 2"]


def test_a_refused_field_is_shown_beside_the_kept_ones(store: SqliteReadings, seen: Readings) -> None:
    store.add([an_arrival(a_sample(), refused=(("sht", "no number"),))])
    assert seen.rejects()[0][:2] == ("rindwatch/cellar-1/readings", "sht: no number")


def test_probes_beyond_the_limit_are_counted_not_kept(
    store: SqliteReadings, seen: Readings, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(registry, "MAX_PROBES", 2)
    store.add([an_arrival(a_sample(i), probe=f"p{i}") for i in range(2)])
    store.add([an_arrival(a_sample(9), probe="mad"), an_arrival(a_sample(9), probe="p0")])
    assert [p.name for p in seen.probes()] == ["p0", "p1"]
    assert seen.counter("probe_beyond_limit") == 1


def test_fields_beyond_the_limit_of_a_probe_are_not_kept(
    store: SqliteReadings, seen: Readings, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(registry, "MAX_CHANNELS_OF_A_PROBE", 3)
    store.add([an_arrival(*(a_sample(field=f"f{i}") for i in range(5)))])
    assert [c.field for c in seen.channels()] == ["f0", "f1", "f2"]


def test_a_new_promise_of_a_probe_has_its_means_made_again(store: SqliteReadings) -> None:
    store.add([an_arrival(a_sample(0)), an_arrival(a_sample(30))])
    store.add([an_arrival(a_sample(31), state=ProbeState("online", 900))])
    assert [(c.cause, c.from_ms, c.to_ms) for c in store.changes(0)][-1] == ("hold", ms(0), ms(31))
    seq = store.changes(0)[-1].seq
    store.add([an_arrival(a_sample(32), state=ProbeState("online", 900))])
    assert [c.cause for c in store.changes(seq)] == ["reading"]


def test_a_file_of_a_newer_version_is_refused(path: Path) -> None:
    SqliteReadings(path).close()
    with sqlite3.connect(path) as db:
        db.execute(f"PRAGMA user_version={VERSION + 1}")
    db.close()
    for opening in (SqliteReadings, open_reader):
        with pytest.raises(SchemaTooNew, match="written by a newer version"):
            opening(path)


def test_a_reader_waits_until_an_older_file_has_been_brought_up(path: Path) -> None:
    SqliteReadings(path).close()
    with sqlite3.connect(path) as db:
        db.execute(f"PRAGMA user_version={VERSION - 1}")
    db.close()
    with pytest.raises(SchemaOlder, match=f"an older version .its form is {VERSION - 1}, needed is {VERSION}"):
        open_reader(path)


def test_a_reader_waits_for_the_first_start(path: Path) -> None:
    with pytest.raises(SchemaMissing, match="not prepared yet"):
        open_reader(path)


def test_a_reader_cannot_write(store: SqliteReadings, seen: Readings) -> None:
    with pytest.raises(sqlite3.OperationalError, match="readonly"):
        seen.db.execute("DELETE FROM reading")
