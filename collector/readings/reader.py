"""Questions to the readings database; works on the writer's connection and on read-only ones."""

import sqlite3
from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path

import numpy as np

from collector.readings import packs
from collector.readings.coverage import guessed_spread
from collector.readings.model import Change, Channel, ProbeSeen, Rollups, Series
from collector.readings.older import Older, with_older_readings, with_older_rollups
from collector.readings.schema import open_reader


def series(
    db: sqlite3.Connection, channel: int, from_ms: int, to_ms: int, *, before: int = 0, after: int = 0
) -> Series:
    """Raw readings with from_ms <= taken < to_ms, and so many more on either side."""
    columns = "taken_ms, value, unit, mark"
    rows = db.execute(
        f"SELECT {columns} FROM reading WHERE channel=? AND taken_ms<? ORDER BY taken_ms DESC LIMIT ?",
        (channel, from_ms, before),
    ).fetchall()[::-1]
    rows += db.execute(
        f"SELECT {columns} FROM reading WHERE channel=? AND taken_ms>=? AND taken_ms<? ORDER BY taken_ms",
        (channel, from_ms, to_ms),
    ).fetchall()
    rows += db.execute(
        f"SELECT {columns} FROM reading WHERE channel=? AND taken_ms>=? ORDER BY taken_ms LIMIT ?",
        (channel, to_ms, after),
    ).fetchall()
    taken, value, unit, mark = zip(*rows, strict=True) if rows else ((), (), (), ())
    own = Series(
        np.array(taken, dtype=np.int64), np.array(value, dtype=float), np.array(unit, dtype=np.int64),
        np.array(mark, dtype=np.int64), units(db),
    )  # fmt: skip
    return with_older_readings(db, channel, from_ms, to_ms, before, own)


def units(db: sqlite3.Connection) -> dict[int, str]:
    return dict(db.execute("SELECT id, code FROM unit"))


def rollups(db: sqlite3.Connection, channel: int, from_ms: int, to_ms: int) -> Rollups:
    """Ten-minute rollups with from_ms <= start < to_ms."""
    rows = packs.read(db, channel, from_ms, to_ms)
    columns = {name: np.ascontiguousarray(rows[name]) for name in packs.COLUMNS}
    found = with_older_rollups(db, channel, from_ms, to_ms, Rollups(**columns, units=units(db)))
    # Rollups from before spreads were kept, here or elsewhere.
    unsaid = np.isnan(found.spread)
    if not unsaid.any():
        return found
    guessed = guessed_spread(found.low, found.high, found.count)
    return replace(found, spread=np.where(unsaid, guessed, found.spread))


class Readings:
    """A read-only view of the readings, for the dashboard and the command line.

    Args:
        older: answers for what is no longer kept here.
    Raises:
        SchemaMissing, SchemaOlder, SchemaTooNew: on opening.
    """

    def __init__(self, path: Path, older: Older | None = None) -> None:
        self._db = open_reader(path)
        self._db.older = older

    def close(self) -> None:
        self._db.close()

    @property
    def db(self) -> sqlite3.Connection:
        return self._db

    def channels(self) -> list[Channel]:
        return channels(self._db)

    def probes(self) -> list[ProbeSeen]:
        rows = self._db.execute(
            "SELECT name, topic, first_ms, last_ms, messages, state, state_ms, at_latest_every_s, facts"
            " FROM probe ORDER BY name"
        )
        return [ProbeSeen(*row) for row in rows]

    def last(self, channel: int) -> tuple[int, float, str, int] | None:
        """The newest reading of a channel: taken_ms, value, unit code, mark."""
        row = self._db.execute(
            "SELECT taken_ms, value, code, mark FROM reading JOIN unit ON unit.id=reading.unit"
            " WHERE channel=? ORDER BY taken_ms DESC LIMIT 1",
            (channel,),
        ).fetchone()
        return tuple(row) if row else None

    def last_messages(self, probe: str) -> list[tuple[str, bytes, int]]:
        """Topic, payload and arrival of the newest messages of a probe, newest first."""
        return self._db.execute(
            "SELECT topic, payload, arrived_ms FROM last_message WHERE probe=? ORDER BY arrived_ms DESC",
            (probe,),
        ).fetchall()

    def rejects(self) -> list[tuple[str, str, bytes, int, int, int]]:
        """Topic, reason, newest payload, first and last arrival and number of what could not be understood."""
        return self._db.execute(
            "SELECT topic, reason, payload, first_ms, last_ms, count FROM reject ORDER BY last_ms DESC"
        ).fetchall()

    def counter(self, name: str) -> int:
        row = self._db.execute("SELECT n FROM counter WHERE name=?", (name,)).fetchone()
        return int(row[0]) if row else 0

    def newest_change(self) -> int:
        """Grows with every commit of readings; what pages are tagged with."""
        return newest_change(self._db)

    def series(self, channel: int, from_ms: int, to_ms: int, *, before: int = 0, after: int = 0) -> Series:
        return series(self._db, channel, from_ms, to_ms, before=before, after=after)

    def rollups(self, channel: int, from_ms: int, to_ms: int) -> Rollups:
        return rollups(self._db, channel, from_ms, to_ms)


def channels(db: sqlite3.Connection) -> list[Channel]:
    rows = db.execute("SELECT id, probe, field, quantity, unit, first_ms FROM channel ORDER BY probe, field")
    return [Channel(*row) for row in rows]


def at_latest_every_ms(db: sqlite3.Connection, channel: int) -> float | None:
    """What the channel's probe promises if it reports on change [ms]."""
    row = db.execute(
        "SELECT at_latest_every_s FROM probe JOIN channel ON channel.probe=probe.name WHERE channel.id=?", (channel,)
    ).fetchone()
    return float(row[0]) * 1_000 if row and row[0] else None


def newest_ms(db: sqlite3.Connection, numbers: Iterable[int]) -> int | None:
    """When the newest reading of any of these channels was taken."""
    found = [
        db.execute("SELECT max(taken_ms) FROM reading WHERE channel=?", (number,)).fetchone()[0] for number in numbers
    ]
    return max((int(ms) for ms in found if ms is not None), default=None)


def changes(db: sqlite3.Connection, after: int, limit: int) -> list[Change]:
    """The change log after a place in it."""
    rows = db.execute(
        "SELECT seq, channel, from_ms, to_ms, cause FROM change WHERE seq>? ORDER BY seq LIMIT ?", (after, limit)
    )
    return [Change(*row) for row in rows]


def newest_change(db: sqlite3.Connection) -> int:
    """The number of the last entry of the change log, dropped ones included."""
    row = db.execute("SELECT seq FROM sqlite_sequence WHERE name='change'").fetchone()
    return int(row[0]) if row else 0


def consumed(db: sqlite3.Connection, name: str) -> int:
    """How far a consumer has come in the change log."""
    row = db.execute("SELECT seq FROM consumer WHERE name=?", (name,)).fetchone()
    return int(row[0]) if row else 0
