"""The readings store: one writer, one commit for readings, their registry and the change log."""

import sqlite3
import threading
from collections import defaultdict
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Protocol

from collector.errors import StoreFull, StoreUnavailable
from collector.instants import from_ms
from collector.readings.model import Arrival, Change, Mark, Reject, Stored
from collector.readings.raw_from import raw_from_ms
from collector.readings.reader import changes, consumed
from collector.readings.registry import Registry
from collector.readings.schema import open_writer
from collector.readings.sequences import Sequences

MAX_KEPT_PAYLOAD = 4_096  # bytes of a last message or a reject that are shown again
LAST_MESSAGES = 3  # of each probe
MAX_REJECTS = 500
MAX_FLIGHTS = 2_000  # more than any broker keeps unacknowledged for one client
MOVED = "the file was moved or removed while it was in use; put it back or start again"


class ReadingStore(Protocol):
    """Where readings are kept. `add` has happened when it returns; when it raises, nothing has."""

    def add(self, arrivals: Sequence[Arrival | Reject]) -> Stored: ...

    def flights(self) -> list[tuple[str, bytes]]: ...

    def forget_flights(self) -> None: ...

    def close(self) -> None: ...


class _Spans(dict[int, tuple[int, int]]):
    """The span that each channel changed in."""

    def widen(self, channel: int, taken_ms: int) -> None:
        span = self.get(channel)
        self[channel] = (min(span[0], taken_ms), max(span[1], taken_ms)) if span else (taken_ms, taken_ms)


class SqliteReadings:
    """Readings in one SQLite file.

    Raises:
        StoreFull, StoreUnavailable: from every writing method; the transaction is then undone as a whole.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        self._db = open_writer(path)
        self._file = _file_of(path)
        self._lock = threading.RLock()
        self._registry = Registry(self._db)
        self._sequences = Sequences(self._db)

    def close(self) -> None:
        with self._lock:
            self._db.close()

    @contextmanager
    def transaction(self, pending: int = 0) -> Iterator[sqlite3.Connection]:
        """One all-or-nothing commit; the errors of the disk become ours."""
        with self._lock:
            try:
                self._db.execute("BEGIN IMMEDIATE")
                yield self._db
                self._refuse_moved(pending)
                self._db.execute("COMMIT")
            except BaseException as error:
                self._undo()
                if isinstance(error, sqlite3.Error):
                    raise self._ours(error, pending) from error
                raise

    @contextmanager
    def alone(self) -> Iterator[sqlite3.Connection]:
        """The connection outside a transaction, for upkeep that makes its own; the errors of the disk become ours."""
        with self._lock:
            try:
                yield self._db
            except sqlite3.Error as error:
                raise self._ours(error, 0) from error

    def _refuse_moved(self, pending: int) -> None:
        """With a write-ahead log SQLite goes on writing into a file that was removed, and says nothing."""
        if _file_of(self.path) != self._file:
            raise StoreUnavailable(self.path, pending, MOVED)

    def _undo(self) -> None:
        if self._db.in_transaction:
            self._db.execute("ROLLBACK")
        self._registry.forget()

    def _ours(self, error: sqlite3.Error, pending: int) -> StoreUnavailable:
        if getattr(error, "sqlite_errorcode", None) == sqlite3.SQLITE_FULL:
            return StoreFull(self.path, pending)
        return StoreUnavailable(self.path, pending, str(error))

    def add(self, arrivals: Sequence[Arrival | Reject]) -> Stored:
        """Keep messages with all that belongs to them; a message sent again changes nothing."""
        with self.transaction(sum(len(a.samples) for a in arrivals if isinstance(a, Arrival))) as db:
            arrivals = self._without_gone(db, arrivals)
            fresh = [a for a in arrivals if isinstance(a, Arrival) and self._is_fresh(a)]
            stored = self._keep(db, fresh)
            self._note_probes(db, [a for a in arrivals if isinstance(a, Arrival)])
            self._note_rejects(db, [a for a in arrivals if isinstance(a, Reject)])
            self._note_flights(db, arrivals)
        return stored

    def _without_gone(self, db: sqlite3.Connection, arrivals: Sequence[Arrival | Reject]) -> Sequence[Arrival | Reject]:
        """Set aside what is older than the readings that are still kept one by one: its means are made for good."""
        gone_ms = raw_from_ms(db)
        if gone_ms is None:
            return arrivals
        return [without_older(a, gone_ms) if isinstance(a, Arrival) else a for a in arrivals]

    def _is_fresh(self, arrival: Arrival) -> bool:
        if not arrival.samples or not self._registry.admits(arrival.probe):
            return False
        if arrival.boot is None or arrival.seq is None:
            return True
        return self._sequences.take(arrival.probe, arrival.boot, arrival.seq)

    def _keep(self, db: sqlite3.Connection, arrivals: Sequence[Arrival]) -> Stored:
        rows = [row for arrival in arrivals for row in self._rows(arrival)]
        unique = {row[:2]: row for row in rows}
        if len(unique) < len(rows):  # the first of each key goes in; _settle counts what came after it
            unique = {row[:2]: row for row in reversed(rows)}
        before = db.total_changes
        db.executemany("INSERT OR IGNORE INTO reading VALUES (?,?,?,?,?,?)", unique.values())
        kept = db.total_changes - before
        spans, conflicts = _Spans(), 0
        if kept == len(unique) == len(rows):
            for channel, taken_ms in unique:
                spans.widen(channel, taken_ms)
        else:
            conflicts = self._settle(db, rows, spans)
        self._log(db, [(channel, *span) for channel, span in spans.items()], "reading")
        self._count(db, "conflict", conflicts)
        return Stored(kept, len(rows) - kept - conflicts, conflicts)

    def _rows(self, arrival: Arrival) -> Iterator[tuple[int, int, float, int, int, int]]:
        for sample in arrival.samples:
            channel = self._registry.channel(arrival, sample)
            if channel is not None:
                lag_ms = arrival.arrived_ms - sample.taken_ms
                yield (
                    channel, sample.taken_ms, sample.value, self._registry.unit(sample.unit), lag_ms,
                    int(sample.mark),
                )  # fmt: skip

    def _settle(
        self, db: sqlite3.Connection, rows: Sequence[tuple[int, int, float, int, int, int]], spans: _Spans
    ) -> int:
        """Some keys were there before: the last value wins, and a different one is counted."""
        conflicts = 0
        for channel, taken_ms, value, unit, lag_ms, mark in rows:
            cursor = db.execute(
                "UPDATE reading SET value=?, unit=?, lag_ms=?, mark=? WHERE channel=? AND taken_ms=?"
                " AND (value<>? OR unit<>?)",
                (value, unit, lag_ms, mark, channel, taken_ms, value, unit),
            )
            conflicts += cursor.rowcount
            spans.widen(channel, taken_ms)
        return conflicts

    def _note_probes(self, db: sqlite3.Connection, arrivals: Sequence[Arrival]) -> None:
        by_probe: dict[str, list[Arrival]] = defaultdict(list)
        for arrival in arrivals:
            by_probe[arrival.probe].append(arrival)
        for name, own in by_probe.items():
            if not self._registry.admits(name):
                self._count(db, "probe_beyond_limit", len(own))
                continue
            times = [_heard_ms(a) for a in own]
            self._registry.heard(name, own[-1].topic, min(times), max(times), len(own))
            self._note_state(db, own)
            # An old log has no payloads; a live probe's last messages are not pushed out by it.
            self._note_last(db, name, [a for a in own if a.payload][-LAST_MESSAGES:])
            self._note_refused(db, own)

    def _note_state(self, db: sqlite3.Connection, own: Sequence[Arrival]) -> None:
        for arrival in own:
            if arrival.state is not None:
                state = arrival.state
                db.execute(
                    "UPDATE probe SET state=?, state_ms=?, facts=? WHERE name=?",
                    (state.state, arrival.arrived_ms, state.facts, arrival.probe),
                )
                if state.at_latest_every_s is not None:
                    self._hold(db, arrival.probe, state.at_latest_every_s)

    def _hold(self, db: sqlite3.Connection, probe: str, at_latest_every_s: float | None) -> None:
        """How long a value holds has changed: every mean of the probe's channels has to be made again."""
        cursor = db.execute(
            "UPDATE probe SET at_latest_every_s=? WHERE name=? AND at_latest_every_s IS NOT ?",
            (at_latest_every_s, probe, at_latest_every_s),
        )
        if cursor.rowcount:
            spans = db.execute(
                "SELECT channel, min(taken_ms), max(taken_ms) FROM reading JOIN channel ON id=channel"
                " WHERE probe=? GROUP BY channel",
                (probe,),
            ).fetchall()
            self._log(db, spans, "hold")

    def hold(self, probe: str, at_latest_every_s: float | None) -> None:
        """Set what a probe that reports on change promises: a value at the latest every so many seconds."""
        with self.transaction() as db:
            self._hold(db, probe, at_latest_every_s)

    def _note_last(self, db: sqlite3.Connection, name: str, own: Sequence[Arrival]) -> None:
        heard = int(db.execute("SELECT messages FROM probe WHERE name=?", (name,)).fetchone()[0])
        for number, arrival in enumerate(own, heard - len(own)):
            db.execute(
                "INSERT OR REPLACE INTO last_message VALUES (?,?,?,?,?)",
                (
                    name,
                    number % LAST_MESSAGES,
                    arrival.topic,
                    arrival.payload[:MAX_KEPT_PAYLOAD],
                    arrival.arrived_ms,
                ),
            )

    def _note_refused(self, db: sqlite3.Connection, own: Sequence[Arrival]) -> None:
        refused = [
            Reject(a.topic, f"{name}: {reason}" if name else reason, a.payload, a.arrived_ms)
            for a in own
            for name, reason in a.refused
        ]
        self._note_rejects(db, refused)

    def _note_rejects(self, db: sqlite3.Connection, rejects: Sequence[Reject]) -> None:
        for reject in rejects:
            db.execute(
                "INSERT INTO reject (topic, reason, payload, first_ms, last_ms, count) VALUES (?,?,?,?,?,1)"
                " ON CONFLICT (topic, reason) DO UPDATE SET payload=excluded.payload,"
                " last_ms=max(last_ms, excluded.last_ms), count=count+1",
                (reject.topic[:500], reject.reason[:500], reject.payload[:MAX_KEPT_PAYLOAD], reject.arrived_ms,
                 reject.arrived_ms),
            )  # fmt: skip
        if rejects:
            self._count(db, "reject", len(rejects))
            db.execute(
                "DELETE FROM reject WHERE id NOT IN (SELECT id FROM reject ORDER BY last_ms DESC, id DESC LIMIT ?)",
                (MAX_REJECTS,),
            )

    def _note_flights(self, db: sqlite3.Connection, arrivals: Sequence[Arrival | Reject]) -> None:
        rows = [(a.topic, a.flight) for a in arrivals if isinstance(a, Arrival) and a.flight is not None]
        if rows:
            db.executemany("INSERT INTO flight (topic, digest) VALUES (?,?)", rows)
            db.execute("DELETE FROM flight WHERE id<=(SELECT max(id) FROM flight)-?", (MAX_FLIGHTS,))

    def _count(self, db: sqlite3.Connection, name: str, n: int) -> None:
        if n:
            db.execute("INSERT INTO counter VALUES (?,?) ON CONFLICT (name) DO UPDATE SET n=n+excluded.n", (name, n))

    def _log(self, db: sqlite3.Connection, spans: Sequence[tuple[int | None, int, int]], cause: str) -> None:
        db.executemany(
            "INSERT INTO change (channel, from_ms, to_ms, cause) VALUES (?,?,?,?)",
            [(*span, cause) for span in spans],
        )

    def flights(self) -> list[tuple[str, bytes]]:
        """Topic and digest of messages that the broker may hand over again, in order of arrival."""
        with self._lock:
            return self._db.execute("SELECT topic, digest FROM flight ORDER BY id").fetchall()

    def forget_flights(self) -> None:
        """The broker has handed over again what it held, or has seen every acknowledgement."""
        with self.transaction() as db:
            db.execute("DELETE FROM flight")

    def count(self, name: str, n: int) -> None:
        """Add to one of the counters that the probes page shows."""
        with self.transaction() as db:
            self._count(db, name, n)

    def log_change(self, channel: int | None, from_ms: int, to_ms: int, cause: str) -> None:
        """Have a span looked at again, for a cause other than readings (a calibration, a placement)."""
        with self.transaction() as db:
            self._log(db, [(channel, from_ms, to_ms)], cause)

    def changes(self, after: int, limit: int = 10_000) -> list[Change]:
        with self._lock:
            return changes(self._db, after, limit)

    def consumed(self, name: str) -> int:
        with self._lock:
            return consumed(self._db, name)

    def drop_changes(self, up_to: int) -> None:
        """Forget changes that every consumer has seen."""
        with self.transaction() as db:
            db.execute("DELETE FROM change WHERE seq<=?", (up_to,))

    def was_taken_in(self, digest: str) -> bool:
        """Whether an imported file with this content was taken in as a whole."""
        with self._lock:
            return self._db.execute("SELECT 1 FROM taken_in WHERE digest=?", (digest,)).fetchone() is not None

    def note_taken_in(self, digest: str, name: str, rows: int, refused: int, done_ms: int) -> None:
        with self.transaction() as db:
            db.execute("INSERT OR REPLACE INTO taken_in VALUES (?,?,?,?,?)", (digest, name, rows, refused, done_ms))


def _file_of(path: Path) -> tuple[int, int] | None:
    """What the system knows a file by; None when nothing lies there."""
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_dev, found.st_ino


def without_older(arrival: Arrival, gone_ms: int) -> Arrival:
    """A message without its samples from before a time; they are told as refused."""
    kept = tuple(sample for sample in arrival.samples if sample.taken_ms >= gone_ms)
    if len(kept) == len(arrival.samples):
        return arrival
    reason = f"older than the readings that are kept one by one, which begin on {from_ms(gone_ms):%Y-%m-%d} UTC"
    return arrival._replace(samples=kept, refused=(*arrival.refused, ("", reason)))


def _heard_ms(arrival: Arrival) -> int:
    """When the probe was heard: a message from an old log does not make it heard now."""
    if arrival.samples and all(sample.mark & Mark.IMPORTED for sample in arrival.samples):
        return max(sample.taken_ms for sample in arrival.samples)
    return arrival.arrived_ms
