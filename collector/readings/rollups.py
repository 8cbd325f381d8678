"""Ten-minute rollups of raw channels, recomputed from the raw readings of each changed bucket."""

import sqlite3
from collections import defaultdict
from collections.abc import Sequence

import numpy as np

from collector.readings import packs
from collector.readings.coverage import USUAL_GAPS, held_ms, spread_within, time_weighted
from collector.readings.model import Change, Mark, Millis, Series, Values
from collector.readings.raw_from import raw_from_ms
from collector.readings.reader import at_latest_every_ms, series
from collector.readings.store import SqliteReadings

Row = tuple[int, int, int, int, float, float, float, int, float]

BUCKET_MS = 600_000
CONSUMER = "rollup"
FOLLOWER = "follower"
MAX_SPAN_MS = 40 * 86_400_000  # one pass reads at most this much of a channel into memory


def follow(store: SqliteReadings, limit: int = 2_000) -> int:
    """Bring the rollups up with the change log; returns how many changes were taken in.

    The rollups and the place in the log are written in one commit, so a kill between is harmless.
    """
    changes = store.changes(store.consumed(CONSUMER), limit)
    if not changes:
        return 0
    with store.transaction() as db:
        for channel, (from_ms, to_ms) in spans(changes).items():
            rebuild(db, channel, from_ms, to_ms)
        db.execute("INSERT OR REPLACE INTO consumer VALUES (?,?)", (CONSUMER, changes[-1].seq))
    return len(changes)


def spans(changes: Sequence[Change]) -> dict[int, tuple[int, int]]:
    """The span to look at again for each channel."""
    by_channel: dict[int, list[Change]] = defaultdict(list)
    for change in changes:
        if change.channel is not None and change.cause in ("reading", "hold"):
            by_channel[change.channel].append(change)
    return {channel: (min(c.from_ms for c in own), max(c.to_ms for c in own)) for channel, own in by_channel.items()}


def rebuild(db: sqlite3.Connection, channel: int, from_ms: int, to_ms: int) -> None:
    """Write the rollups of every bucket that readings in a span can touch."""
    first, last = reach(db, channel, from_ms, to_ms)
    # Where single readings are gone the means are made for good.
    start = max(first // BUCKET_MS * BUCKET_MS, raw_from_ms(db) or 0)
    while start <= last:
        end = min(start + MAX_SPAN_MS, (last // BUCKET_MS + 1) * BUCKET_MS)
        _write(db, channel, start, end)
        start = end


def reach(db: sqlite3.Connection, channel: int, from_ms: int, to_ms: int) -> tuple[int, int]:
    """From the reading before a change, which was held into it, to where the last reading whose usual
    interval depends on the change is held."""
    before = _nearest(db, channel, "taken_ms<? ORDER BY taken_ms DESC", from_ms, USUAL_GAPS + 1)[::-1]
    after = _nearest(db, channel, "taken_ms>=? ORDER BY taken_ms", to_ms, USUAL_GAPS + 2)
    inside = _nearest(db, channel, "taken_ms<? ORDER BY taken_ms DESC", to_ms, USUAL_GAPS + 1)[::-1]
    first = before[-1] if before else from_ms
    last = max(to_ms, _held_to(db, channel, before), _held_to(db, channel, inside + after))
    if len(after) < USUAL_GAPS + 2:
        # The channel's last reading is among them, and may have been held for longer before.
        row = db.execute("SELECT max(start_ms) FROM rollup WHERE channel=?", (channel,)).fetchone()
        last = max(last, row[0] or 0)
    return first, last


def _nearest(db: sqlite3.Connection, channel: int, where: str, at_ms: int, limit: int) -> list[int]:
    rows = db.execute(f"SELECT taken_ms FROM reading WHERE channel=? AND {where} LIMIT ?", (channel, at_ms, limit))
    return [int(row[0]) for row in rows]


def _held_to(db: sqlite3.Connection, channel: int, taken: list[int]) -> int:
    if not taken:
        return 0
    times = np.array(taken, dtype=np.int64)
    far = taken[-1] + MAX_SPAN_MS
    return taken[-1] + int(held_ms(times, far, at_latest_every_ms(db, channel))[-1])


def _write(db: sqlite3.Connection, channel: int, start: int, end: int) -> None:
    raw = series(db, channel, start, end, before=USUAL_GAPS + 1, after=1)
    latest = at_latest_every_ms(db, channel)
    rows = bucket_rows(channel, raw, start, end, latest)
    _note_vanished(db, channel, start, end, {(row[1], row[2]) for row in rows})
    db.execute("DELETE FROM rollup WHERE channel=? AND start_ms>=? AND start_ms<?", (channel, start, end))
    packs.drop(db, channel, start, end)
    db.executemany("INSERT INTO rollup VALUES (?,?,?,?,?,?,?,?,?)", rows)


def _note_vanished(db: sqlite3.Connection, channel: int, start: int, end: int, now_there: set[tuple[int, int]]) -> None:
    """A follower may have copied rollups that are no more; only where one follows does anybody take them back."""
    if db.execute("SELECT 1 FROM consumer WHERE name=?", (FOLLOWER,)).fetchone() is None:
        return
    before = db.execute(
        "SELECT start_ms, unit FROM rollup WHERE channel=? AND start_ms>=? AND start_ms<?", (channel, start, end)
    )
    gone = [(channel, *key) for key in before.fetchall() if key not in now_there]
    db.executemany("INSERT OR IGNORE INTO vanished VALUES (?,?,?)", gone)


def bucket_rows(channel: int, raw: Series, start: int, end: int, at_latest_every_ms: float | None) -> list[Row]:
    """Rollup rows of one channel between two bucket edges, one unit at a time."""
    told = (raw.mark & int(Mark.AT_THE_LATEST)) == 0
    taken, value, unit = raw.taken_ms[told], raw.value[told], raw.unit[told]
    held = held_ms(taken, end, at_latest_every_ms)
    edges = np.arange(start, end + 1, BUCKET_MS, dtype=np.int64)
    rows = []
    for code in np.unique(unit):
        own = unit == code
        rows += _unit_rows(channel, int(code), taken[own], held[own], value[own], edges)
    return rows


def _unit_rows(channel: int, unit: int, taken: Millis, held: Millis, value: Values, edges: Millis) -> list[Row]:
    mean, covered = time_weighted(taken, held, value, edges)
    low, high, count = extremes(taken, held, value, edges)
    spread = spread_within(taken, held, value, edges)
    return [
        (
            channel,
            int(edges[i]),
            unit,
            int(count[i]),
            float(low[i]),
            float(high[i]),
            float(mean[i]),
            int(covered[i]),
            float(spread[i]),
        )
        for i in np.flatnonzero(covered > 0)
    ]


def extremes(taken: Millis, held: Millis, value: Values, edges: Millis) -> tuple[Values, Values, Millis]:
    """Least, greatest and number of the values in each bucket; the value held into a bucket counts for the
    extremes, not for the number."""
    buckets = len(edges) - 1
    low, high = np.full(buckets, np.inf), np.full(buckets, -np.inf)
    place = (taken - edges[0]) // BUCKET_MS
    inside = (place >= 0) & (place < buckets)
    np.minimum.at(low, place[inside], value[inside])
    np.maximum.at(high, place[inside], value[inside])
    count = np.bincount(place[inside], minlength=buckets)
    carried = np.searchsorted(taken, edges[:-1], side="left") - 1
    reaches = (carried >= 0) & (taken[np.maximum(carried, 0)] + held[np.maximum(carried, 0)] > edges[:-1])
    low[reaches] = np.minimum(low[reaches], value[carried[reaches]])
    high[reaches] = np.maximum(high[reaches], value[carried[reaches]])
    return low, high, count
