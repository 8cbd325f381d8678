"""What the follower writes down of its own work, inside the readings database, whose one writer is the collector."""

import sqlite3
from collections.abc import Sequence
from typing import Protocol

from collector.readings.follower.spans import JOIN_MS, LONG_MS, Owed, Span, Vanished
from collector.readings.reader import consumed
from collector.readings.rollups import CONSUMER as ROLLUPS
from collector.readings.rollups import FOLLOWER
from collector.readings.store import SqliteReadings

MAX_SET_ASIDE = 500
SET_ASIDE = "follower_set_aside"  # the counter of points refused for good


class LedgerWriter(Protocol):
    """Each of these has happened when it returns.

    Raises:
        StoreUnavailable: from all of them; nothing has happened then.
    """

    def begin(self) -> None: ...

    def moved(self, seq: int, owe: Sequence[Span]) -> None: ...

    def paid(self, owed: Owed, up_to_ms: int) -> None: ...

    def taken_back(self, gone: Sequence[Vanished]) -> None: ...

    def set_aside(self, refused: Sequence[tuple[str, str]], at_ms: int) -> None: ...


class StoreWriter:
    """Writes through the store, in the collector's own process."""

    def __init__(self, store: SqliteReadings) -> None:
        self._store = store

    def begin(self) -> None:
        """At the very first start everything that is here is owed."""
        with self._store.transaction() as db:
            db.execute("INSERT INTO consumer VALUES (?,?)", (FOLLOWER, consumed(db, ROLLUPS)))
            for (number,) in db.execute("SELECT id FROM channel ORDER BY id").fetchall():
                ends = db.execute("SELECT min(taken_ms), max(taken_ms) FROM reading WHERE channel=?", (number,))
                first, last = ends.fetchone()
                steps = db.execute("SELECT min(start_ms), max(start_ms) FROM rollup WHERE channel=?", (number,))
                first_step, last_step = steps.fetchone()
                if first is not None:
                    _owe(db, Span(number, first, last))
                if first_step is not None and (first is None or first_step < first - LONG_MS):
                    # Raw readings are kept for a chosen time, rollups for ever.
                    _owe(db, Span(number, first_step, last_step if first is None else first, raw=False))

    def moved(self, seq: int, owe: Sequence[Span]) -> None:
        """The log has been copied up to an entry, but for the spans that are now owed."""
        with self._store.transaction() as db:
            for span in owe:
                _owe(db, span)
            db.execute("INSERT OR REPLACE INTO consumer VALUES (?,?)", (FOLLOWER, seq))

    def paid(self, owed: Owed, up_to_ms: int) -> None:
        """A span has been copied up to a time, which is included."""
        with self._store.transaction() as db:
            if up_to_ms >= owed.span.to_ms:
                db.execute("DELETE FROM owed WHERE id=?", (owed.id,))
            else:
                db.execute("UPDATE owed SET from_ms=? WHERE id=?", (up_to_ms + 1, owed.id))

    def taken_back(self, gone: Sequence[Vanished]) -> None:
        """These steps are gone there too; steps that have come again are forgotten with them."""
        with self._store.transaction() as db:
            for steps in gone:
                db.execute(
                    "DELETE FROM vanished WHERE channel=? AND unit=? AND start_ms>=? AND start_ms<=?",
                    (steps.channel, steps.unit, steps.from_ms, steps.to_ms),
                )
            db.execute(
                "DELETE FROM vanished WHERE EXISTS (SELECT 1 FROM rollup r WHERE r.channel=vanished.channel"
                " AND r.start_ms=vanished.start_ms AND r.unit=vanished.unit)"
            )

    def set_aside(self, refused: Sequence[tuple[str, str]], at_ms: int) -> None:
        """Keep the newest of the points that are refused for good, each with its reason, and count all."""
        with self._store.transaction() as db:
            rows = [(line[:1_000], reason[:500], at_ms) for line, reason in refused[-MAX_SET_ASIDE:]]
            db.executemany("INSERT INTO set_aside (line, reason, at_ms) VALUES (?,?,?)", rows)
            db.execute("DELETE FROM set_aside WHERE id<=(SELECT max(id) FROM set_aside)-?", (MAX_SET_ASIDE,))
        self._store.count(SET_ASIDE, len(refused))


def _owe(db: sqlite3.Connection, span: Span) -> None:
    """Inside the writer's commit: one more span to copy; it grows a neighbour where there is one."""
    near = db.execute(
        "SELECT id, from_ms, to_ms FROM owed WHERE channel=? AND raw=? AND from_ms<=? AND to_ms>=? LIMIT 1",
        (span.channel, int(span.raw), span.to_ms + JOIN_MS, span.from_ms - JOIN_MS),
    ).fetchone()
    if near is None:
        row = (span.channel, span.from_ms, span.to_ms, int(span.raw))
        db.execute("INSERT INTO owed (channel, from_ms, to_ms, raw) VALUES (?,?,?,?)", row)
    else:
        grown = (min(near[1], span.from_ms), max(near[2], span.to_ms), near[0])
        db.execute("UPDATE owed SET from_ms=?, to_ms=? WHERE id=?", grown)


def forget_all(store: SqliteReadings) -> None:
    """Nothing follows any more: neither the log nor anything else is kept for it."""
    with store.transaction() as db:
        db.execute("DELETE FROM consumer WHERE name=?", (FOLLOWER,))
        for table in ("owed", "vanished", "set_aside"):
            db.execute(f"DELETE FROM {table}")
