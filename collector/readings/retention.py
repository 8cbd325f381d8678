"""Single readings are kept for as long as the person chose; their ten-minute means are kept for ever.

Nothing goes unless somebody asked for it. First the time before which readings are gone moves on, in one commit: from
then on older ones are set aside when they come, and no mean before it is made anew. Then they are removed a few
thousand at a time, and the file gives its free pages back a few at a time, so that live readings hardly wait.
"""

import sqlite3
from dataclasses import dataclass

from collector.readings.coverage import USUAL_GAPS
from collector.readings.raw_from import raw_from_ms, set_raw_from
from collector.readings.reader import consumed
from collector.readings.rollups import BUCKET_MS, CONSUMER
from collector.readings.store import SqliteReadings

DAY_MS = 86_400_000
LEAST_D = 90  # our choice: above the longest memory of a rule (31 days), so that no rule judges on less than it needs
AT_ONCE = 5_000  # readings of one commit: our choice, some ten milliseconds
PAGES_AT_ONCE = 250  # given back to the disk at once: a megabyte
KEPT_BEFORE = USUAL_GAPS + 1  # readings of each channel that stay before the time: the first means after it need them
BYTES_A_READING = 27.0  # measured by tests/bench/bench_retention.py, one reading a minute


@dataclass(frozen=True, slots=True)
class Going:
    """What would go if only the newest so many days were kept one by one.

    Args:
        readings: how many would go, of how many. from_ms, to_ms: of those that would go; 0 where none would.
        mb: the room that they take, about.
    """

    readings: int
    of: int
    from_ms: int
    to_ms: int
    mb: float


def cut_ms(now_ms: int, keep_d: int) -> int:
    """The time before which readings go; on a ten-minute step.

    Raises:
        ValueError: fewer days than the rules need.
    """
    if keep_d < LEAST_D:
        raise ValueError(f"keep_d must be at least {LEAST_D}, got {keep_d}")
    return (now_ms - keep_d * DAY_MS) // BUCKET_MS * BUCKET_MS


def going(db: sqlite3.Connection, before_ms: int) -> Going:
    """What would go; only looks."""
    of = count = 0
    first, last = [], []
    for (channel,) in db.execute("SELECT id FROM channel").fetchall():
        of += int(db.execute("SELECT count(*) FROM reading WHERE channel=?", (channel,)).fetchone()[0])
        edge = _edge(db, channel, before_ms)
        own = "SELECT count(*), min(taken_ms), max(taken_ms) FROM reading WHERE channel=? AND taken_ms<?"
        number, first_ms, last_ms = db.execute(own, (channel, edge)).fetchone()
        count += int(number)
        if number:
            first.append(int(first_ms))
            last.append(int(last_ms))
    return Going(count, of, min(first, default=0), max(last, default=0), count * BYTES_A_READING / 1e6)


def _edge(db: sqlite3.Connection, channel: int, before_ms: int) -> int:
    """Readings of a channel before this go: a handful before the time itself stay."""
    row = db.execute(
        "SELECT taken_ms FROM reading WHERE channel=? AND taken_ms<? ORDER BY taken_ms DESC LIMIT 1 OFFSET ?",
        (channel, before_ms, KEPT_BEFORE - 1),
    ).fetchone()
    return int(row[0]) if row else -(2**62)


def thin_out(store: SqliteReadings, before_ms: int, seen_seq: int) -> bool:
    """Remove some of the readings before a time; True when there is more to do at once.

    Args:
        before_ms: on a ten-minute step. seen_seq: of the change log, up to where everyone has looked.
    """
    with store.transaction() as db:
        if not _settled(db, before_ms, seen_seq):
            return False
        set_raw_from(db, before_ms)
        more = _remove(db, raw_from_ms(db) or before_ms)
    return _give_back(store) or more


def _settled(db: sqlite3.Connection, before_ms: int, seen_seq: int) -> bool:
    """Whether every mean before the time is made, every rule has looked, and the follower has its copy."""
    followed = int(db.execute("SELECT min(seq) FROM consumer").fetchone()[0] or 0)
    seen = min(seen_seq, consumed(db, CONSUMER), followed)
    waiting = "SELECT 1 FROM change WHERE seq>? AND from_ms<? AND cause IN ('reading', 'hold') LIMIT 1"
    owed = "SELECT 1 FROM owed WHERE raw=1 AND from_ms<? LIMIT 1"
    return (
        db.execute(waiting, (seen, before_ms)).fetchone() is None and db.execute(owed, (before_ms,)).fetchone() is None
    )


def _remove(db: sqlite3.Connection, before_ms: int) -> bool:
    left = AT_ONCE
    for (channel,) in db.execute("SELECT id FROM channel").fetchall():
        edge = _edge(db, channel, before_ms)
        rows = db.execute(
            "SELECT taken_ms FROM reading WHERE channel=? AND taken_ms<? ORDER BY taken_ms LIMIT ?",
            (channel, edge, left),
        ).fetchall()
        if rows:
            db.execute("DELETE FROM reading WHERE channel=? AND taken_ms<=?", (channel, rows[-1][0]))
            left -= len(rows)
        if left <= 0:
            return True
    return False


def _give_back(store: SqliteReadings) -> bool:
    """Shrink the file a little; a file of version 0.1.0 cannot, and uses the room for what comes."""
    with store.alone() as db:
        if db.execute("PRAGMA auto_vacuum").fetchone()[0] != 2:
            return False
        free = int(db.execute("PRAGMA freelist_count").fetchone()[0])
        if free > PAGES_AT_ONCE:
            # As a script: executed alone the driver takes one step of it, which frees one page.
            db.executescript(f"PRAGMA incremental_vacuum({PAGES_AT_ONCE})")
        return free > PAGES_AT_ONCE
