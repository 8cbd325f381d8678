"""Rollups of ten days at a time, packed into one value each: long spans are read from them many times faster.

A pack holds exactly the rows of its block. Whoever writes rollups drops the packs that they touch in the same commit,
so a pack that is there is always true; a block without one is read row by row. Packs are made afterwards, by a duty.
"""

import sqlite3

import numpy as np
import numpy.typing as npt

BLOCK_MS = 10 * 86_400_000  # our choice: reading the newest block row by row costs little, and packing pays
STEP_MS = 600_000
SETTLED_MS = 3_600_000  # our choice: late readings of a block that has just ended come within the hour
MADE_AT_ONCE = 8  # our choice: the intake waits for it, some fifty milliseconds
ROW = np.dtype(
    [("step", "<u2"), ("unit", "<u4"), ("count", "<u4"), ("low", "<f8"), ("high", "<f8"), ("mean", "<f8"),
     ("covered_ms", "<u4"), ("spread", "<f8")]
)  # fmt: skip
WHOLE = np.dtype(
    [("start_ms", "<i8"), ("unit", "<i8"), ("count", "<i8"), ("low", "<f8"), ("high", "<f8"), ("mean", "<f8"),
     ("covered_ms", "<i8"), ("spread", "<f8")]
)  # fmt: skip
Rows = npt.NDArray[np.void]
COLUMNS = ("start_ms", "unit", "count", "low", "high", "mean", "covered_ms", "spread")


def drop(db: sqlite3.Connection, channel: int, from_ms: int, to_ms: int) -> None:
    """Inside the writer's commit: the packs of [from, to) hold no longer and are due again."""
    blocks = range(from_ms // BLOCK_MS, -(-to_ms // BLOCK_MS))
    db.executemany("INSERT OR REPLACE INTO pack VALUES (?,?,NULL)", ((channel, block) for block in blocks))


def make_due(db: sqlite3.Connection, now_ms: int) -> int:
    """Inside the writer's commit: make some of the packs that are due and whose block is over; returns how many."""
    before = (now_ms - SETTLED_MS) // BLOCK_MS
    due = db.execute(
        "SELECT channel, block FROM pack WHERE data IS NULL AND block<? ORDER BY block DESC LIMIT ?",
        (before, MADE_AT_ONCE),
    ).fetchall()
    for channel, block in due:
        rows = _by_row(db, channel, block * BLOCK_MS, (block + 1) * BLOCK_MS)
        db.execute("UPDATE pack SET data=? WHERE channel=? AND block=?", (_packed(rows, block), channel, block))
    return len(due)


def read(db: sqlite3.Connection, channel: int, from_ms: int, to_ms: int) -> Rows:
    """The rollups with from <= start < to, by start and unit; from packs where there are any."""
    packs = db.execute(
        "SELECT block, data FROM pack WHERE channel=? AND block>=? AND block<? AND data IS NOT NULL ORDER BY block",
        (channel, from_ms // BLOCK_MS, -(-to_ms // BLOCK_MS)),
    ).fetchall()
    parts, at = [], from_ms
    for block, data in packs:
        first, last = max(from_ms, block * BLOCK_MS), min(to_ms, (block + 1) * BLOCK_MS)
        if at < first:
            parts.append(_by_row(db, channel, at, first))
        rows = _unpacked(data, block)
        parts.append(rows[slice(*np.searchsorted(rows["start_ms"], (first, last)))])
        at = last
    if at < to_ms or not parts:
        parts.append(_by_row(db, channel, at, to_ms))
    return parts[0] if len(parts) == 1 else np.concatenate(parts)


def _by_row(db: sqlite3.Connection, channel: int, from_ms: int, to_ms: int) -> Rows:
    rows = db.execute(
        f"SELECT {', '.join(COLUMNS)} FROM rollup"
        " WHERE channel=? AND start_ms>=? AND start_ms<? ORDER BY start_ms, unit",
        (channel, from_ms, to_ms),
    )
    return np.fromiter(rows, dtype=WHOLE)


def _packed(rows: Rows, block: int) -> bytes:
    packed = np.empty(len(rows), dtype=ROW)
    packed["step"] = (rows["start_ms"] - block * BLOCK_MS) // STEP_MS
    for name in COLUMNS[1:]:
        packed[name] = rows[name]
    return packed.tobytes()


def _unpacked(data: bytes, block: int) -> Rows:
    packed = np.frombuffer(data, dtype=ROW)
    rows = np.empty(len(packed), dtype=WHOLE)
    rows["start_ms"] = packed["step"].astype(np.int64) * STEP_MS + block * BLOCK_MS
    for name in COLUMNS[1:]:
        rows[name] = packed[name]
    return rows
