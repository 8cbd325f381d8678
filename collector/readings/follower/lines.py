"""The points of a span, read piece by piece: however long it is, little of it is in memory, and no view of the
database is held open while the network takes its time."""

import sqlite3
from collections.abc import Iterator

from collector.readings.follower.points import TEN_MINUTES, reading_lines, rollup_lines, tags
from collector.readings.follower.spans import Span
from collector.readings.model import Channel
from collector.readings.reader import units
from collector.readings.rollups import BUCKET_MS, reach

PIECE = 2_000  # rows read at once
ROLLUP_PIECE_MS = 30 * 86_400_000  # of a span of which only rollups are owed


def lines_of(db: sqlite3.Connection, channel: Channel, span: Span) -> Iterator[str]:
    """The readings of a span and every rollup that they can touch."""
    codes = units(db)
    if span.raw:
        yield from _readings(db, channel, span, codes)
    first, last = reach(db, channel.id, span.from_ms, span.to_ms)
    yield from _rollups(db, channel, first // BUCKET_MS * BUCKET_MS, last, codes)


def piece_end_ms(db: sqlite3.Connection, span: Span, points: int) -> int:
    """Where a piece of about so many readings ends, included."""
    if not span.raw:
        return min(span.to_ms, span.from_ms + ROLLUP_PIECE_MS)
    row = db.execute(
        "SELECT taken_ms FROM reading WHERE channel=? AND taken_ms>=? AND taken_ms<=?"
        " ORDER BY taken_ms LIMIT 1 OFFSET ?",
        (span.channel, span.from_ms, span.to_ms, points - 1),
    ).fetchone()
    return int(row[0]) if row else span.to_ms


def take_back_key(channel: Channel, unit: str) -> tuple[str, dict[str, str]]:
    """The series of a channel's rollups."""
    return TEN_MINUTES, tags(channel, unit)


def _readings(db: sqlite3.Connection, channel: Channel, span: Span, codes: dict[int, str]) -> Iterator[str]:
    at_ms = span.from_ms
    while at_ms <= span.to_ms:
        rows = db.execute(
            "SELECT taken_ms, value, unit, lag_ms, mark FROM reading WHERE channel=? AND taken_ms>=? AND taken_ms<=?"
            " ORDER BY taken_ms LIMIT ?",
            (channel.id, at_ms, span.to_ms, PIECE),
        ).fetchall()
        yield from reading_lines(channel, rows, codes)
        if len(rows) < PIECE:
            return
        at_ms = rows[-1][0] + 1


def _rollups(db: sqlite3.Connection, channel: Channel, first: int, last: int, codes: dict[int, str]) -> Iterator[str]:
    at_ms = first
    while at_ms <= last:
        rows = db.execute(
            "SELECT start_ms, unit, count, low, high, mean, covered_ms, spread FROM rollup"
            " WHERE channel=? AND start_ms>=? AND start_ms<=? ORDER BY start_ms, unit LIMIT ?",
            (channel.id, at_ms, last, PIECE),
        ).fetchall()
        yield from rollup_lines(channel, rows, codes)
        if len(rows) < PIECE:
            return
        # The last step may have another unit that did not fit: it is read again.
        at_ms = rows[-1][0] if rows[-1][0] > at_ms else at_ms + BUCKET_MS
