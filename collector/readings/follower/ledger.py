"""What has been copied and what is owed: kept in the readings database, whose one writer is the collector."""

import sqlite3
from collections.abc import Sequence
from dataclasses import dataclass

from collector.readings.follower.spans import JOIN_MS, Span
from collector.readings.model import Change
from collector.readings.reader import changes, consumed
from collector.readings.rollups import CONSUMER as ROLLUPS
from collector.readings.rollups import FOLLOWER
from collector.readings.store import SqliteReadings

MAX_SET_ASIDE = 500
SET_ASIDE = "follower_set_aside"  # the counter of points refused for good
LONG_MS = 86_400_000  # a longer span is copied piece by piece, behind what is new: our choice


@dataclass(frozen=True, slots=True)
class Owed:
    """A span that is still to be copied."""

    id: int
    span: Span


@dataclass(frozen=True, slots=True)
class Vanished:
    """Steps of a channel's rollups, one behind the other, that are no more."""

    channel: int
    unit: int
    from_ms: int
    to_ms: int


class Ledger:
    """Reads through a connection of its own and writes through the store.

    Args:
        db: a read-only connection that nobody else uses.
    """

    def __init__(self, store: SqliteReadings, db: sqlite3.Connection) -> None:
        self._store, self.db = store, db

    @property
    def place(self) -> int:
        return consumed(self.db, FOLLOWER)

    def begin(self) -> None:
        """At the very first start everything that is here is owed."""
        if self.db.execute("SELECT 1 FROM consumer WHERE name=?", (FOLLOWER,)).fetchone():
            return
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

    def changes(self, limit: int) -> list[Change]:
        """What is new in the log, as far as its rollups have been made."""
        ready = consumed(self.db, ROLLUPS)
        return [change for change in changes(self.db, self.place, limit) if change.seq <= ready]

    def lag(self) -> int:
        """How many entries of the log are still to be looked at."""
        return int(self.db.execute("SELECT count(*) FROM change WHERE seq>?", (self.place,)).fetchone()[0])

    def moved(self, seq: int, owe: Sequence[Span] = ()) -> None:
        """The log has been copied up to an entry, but for the spans that are now owed."""
        with self._store.transaction() as db:
            for span in owe:
                _owe(db, span)
            db.execute("INSERT OR REPLACE INTO consumer VALUES (?,?)", (FOLLOWER, seq))

    def owed(self) -> Owed | None:
        """What to copy next: the short spans first, as they came."""
        row = self.db.execute(
            "SELECT id, channel, from_ms, to_ms, raw FROM owed ORDER BY to_ms-from_ms>?, id LIMIT 1", (LONG_MS,)
        ).fetchone()
        return None if row is None else Owed(row[0], Span(row[1], row[2], row[3], bool(row[4])))

    def owed_total(self) -> tuple[int, int]:
        """How many spans are owed, and how long they are together [ms]."""
        row = self.db.execute("SELECT count(*), coalesce(sum(to_ms-from_ms), 0) FROM owed").fetchone()
        return int(row[0]), int(row[1])

    def paid(self, owed: Owed, up_to_ms: int) -> None:
        """A span has been copied up to a time, which is included."""
        with self._store.transaction() as db:
            if up_to_ms >= owed.span.to_ms:
                db.execute("DELETE FROM owed WHERE id=?", (owed.id,))
            else:
                db.execute("UPDATE owed SET from_ms=? WHERE id=?", (up_to_ms + 1, owed.id))

    def vanished(self, limit: int = 1_000) -> list[Vanished]:
        """Steps to take back, neighbours joined; those that have come again are not among them."""
        rows = self.db.execute(
            "SELECT v.channel, v.unit, v.start_ms FROM vanished v LEFT JOIN rollup r ON r.channel=v.channel"
            " AND r.start_ms=v.start_ms AND r.unit=v.unit WHERE r.channel IS NULL"
            " ORDER BY v.channel, v.unit, v.start_ms LIMIT ?",
            (limit,),
        ).fetchall()
        found: list[Vanished] = []
        for channel, unit, start_ms in rows:
            last = found[-1] if found else None
            if last is not None and (last.channel, last.unit) == (channel, unit) and start_ms <= last.to_ms + JOIN_MS:
                found[-1] = Vanished(channel, unit, last.from_ms, start_ms)
            else:
                found.append(Vanished(channel, unit, start_ms, start_ms))
        return found

    def has_vanished(self) -> bool:
        return self.db.execute("SELECT 1 FROM vanished LIMIT 1").fetchone() is not None

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

    def counter(self, name: str) -> int:
        row = self.db.execute("SELECT n FROM counter WHERE name=?", (name,)).fetchone()
        return int(row[0]) if row else 0

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


def set_aside_rows(db: sqlite3.Connection) -> list[tuple[str, str, int]]:
    """Line, reason and time of what was set aside, newest first."""
    return db.execute("SELECT line, reason, at_ms FROM set_aside ORDER BY id DESC").fetchall()
