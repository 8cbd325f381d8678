"""What has been copied and what is owed: kept in the readings database, so that a restore takes both back together."""

import sqlite3
from collections.abc import Sequence

from collector.readings.follower.spans import JOIN_MS, LONG_MS, Owed, Span, Vanished
from collector.readings.follower.writing import LedgerWriter
from collector.readings.model import Change
from collector.readings.reader import changes, consumed, newest_change
from collector.readings.rollups import CONSUMER as ROLLUPS
from collector.readings.rollups import FOLLOWER


class Ledger:
    """Reads through a connection of its own and writes through a writer.

    Args:
        db: a read-only connection that nobody else uses.
    """

    def __init__(self, writer: LedgerWriter, db: sqlite3.Connection) -> None:
        self._writer, self.db = writer, db

    @property
    def place(self) -> int:
        return consumed(self.db, FOLLOWER)

    def begin(self) -> bool:
        """At the very first start everything that is here is owed; True when this was it."""
        if self.db.execute("SELECT 1 FROM consumer WHERE name=?", (FOLLOWER,)).fetchone():
            return False
        self._writer.begin()
        return True

    def changes(self, limit: int) -> list[Change]:
        """What is new in the log, as far as its rollups have been made."""
        ready = consumed(self.db, ROLLUPS)
        return [change for change in changes(self.db, self.place, limit) if change.seq <= ready]

    def newest(self) -> int:
        """The number of the last entry of the log."""
        return newest_change(self.db)

    def lag(self) -> int:
        """How many entries of the log are still to be looked at."""
        return int(self.db.execute("SELECT count(*) FROM change WHERE seq>?", (self.place,)).fetchone()[0])

    def moved(self, seq: int, owe: Sequence[Span] = ()) -> None:
        """The log has been copied up to an entry, but for the spans that are now owed."""
        self._writer.moved(seq, owe)

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
        self._writer.paid(owed, up_to_ms)

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
        """These steps are gone there too."""
        self._writer.taken_back(gone)

    def counter(self, name: str) -> int:
        row = self.db.execute("SELECT n FROM counter WHERE name=?", (name,)).fetchone()
        return int(row[0]) if row else 0

    def set_aside(self, refused: Sequence[tuple[str, str]], at_ms: int) -> None:
        """Keep points that are refused for good, each with its reason."""
        self._writer.set_aside(refused, at_ms)


def set_aside_rows(db: sqlite3.Connection) -> list[tuple[str, str, int]]:
    """Line, reason and time of what was set aside, newest first."""
    return db.execute("SELECT line, reason, at_ms FROM set_aside ORDER BY id DESC").fetchall()
