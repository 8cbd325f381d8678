"""From when on readings are kept one by one; before that only their ten-minute means are, if the person chose so."""

import sqlite3

NAME = "raw_from"


def raw_from_ms(db: sqlite3.Connection) -> int | None:
    """The time before which single readings are gone; None while all are kept."""
    row = db.execute("SELECT ms FROM bound WHERE name=?", (NAME,)).fetchone()
    return int(row[0]) if row else None


def set_raw_from(db: sqlite3.Connection, at_ms: int) -> None:
    """Inside the writer's commit: move it forward; what is gone does not come back, so it never moves back."""
    db.execute("INSERT INTO bound VALUES (?,?) ON CONFLICT (name) DO UPDATE SET ms=max(ms, excluded.ms)", (NAME, at_ms))


def oldest_ms(db: sqlite3.Connection, channel: int) -> int | None:
    """When the oldest reading of a channel was taken; where single readings are gone, its means tell."""
    one = db.execute("SELECT min(taken_ms) FROM reading WHERE channel=?", (channel,)).fetchone()[0]
    if one is None or raw_from_ms(db) is None:
        return None if one is None else int(one)
    mean = db.execute("SELECT min(start_ms) FROM rollup WHERE channel=?", (channel,)).fetchone()[0]
    return int(one) if mean is None else min(int(one), int(mean))
