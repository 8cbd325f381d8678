"""Where readings are that are older than what is kept here: a connection may know of such a place."""

import sqlite3
from typing import Protocol

import numpy as np

from collector.errors import OlderUnavailable
from collector.readings.model import Channel, Rollups, Series

GLANCE_MS = 2 * 86_400_000


class Older(Protocol):
    """Answers for what was before the local readings begin.

    Raises:
        OlderUnavailable: from both, when it cannot be had now.
    """

    def readings(
        self, channel: Channel, from_ms: int, to_ms: int, units: dict[int, str], before: int = 0
    ) -> Series: ...

    def rollups(self, channel: Channel, from_ms: int, to_ms: int, units: dict[int, str]) -> Rollups: ...


class Remembering(sqlite3.Connection):
    """A connection to the readings that knows where older ones are, if anybody told it."""

    older: Older | None = None


def with_older_readings(
    db: sqlite3.Connection, number: int, from_ms: int, to_ms: int, before: int, own: Series
) -> Series:
    """What is kept here, with what is older in front of it where the span reaches back so far."""
    if not isinstance(db, Remembering) or db.older is None:
        return own
    first = _first(db, "SELECT min(taken_ms) FROM reading WHERE channel=?", number, to_ms)
    if from_ms >= first:
        return own
    try:
        far = db.older.readings(_channel(db, number), from_ms, min(first, to_ms), own.units, before)
    except OlderUnavailable:
        if _does_without(from_ms, to_ms, first):
            return own
        raise
    if to_ms < first:
        return far  # what is kept here lies far behind the span
    return Series(
        np.concatenate([far.taken_ms, own.taken_ms]), np.concatenate([far.value, own.value]),
        np.concatenate([far.unit, own.unit]), np.concatenate([far.mark, own.mark]), far.units,
    )  # fmt: skip


def with_older_rollups(db: sqlite3.Connection, number: int, from_ms: int, to_ms: int, own: Rollups) -> Rollups:
    """The same for rollups."""
    if not isinstance(db, Remembering) or db.older is None:
        return own
    first = _first(db, "SELECT min(start_ms) FROM rollup WHERE channel=?", number, to_ms)
    if from_ms >= first:
        return own
    try:
        far = db.older.rollups(_channel(db, number), from_ms, min(first, to_ms), own.units)
    except OlderUnavailable:
        if _does_without(from_ms, to_ms, first):
            return own
        raise
    return Rollups(
        np.concatenate([far.start_ms, own.start_ms]), np.concatenate([far.unit, own.unit]),
        np.concatenate([far.count, own.count]), np.concatenate([far.low, own.low]),
        np.concatenate([far.high, own.high]), np.concatenate([far.mean, own.mean]),
        np.concatenate([far.covered_ms, own.covered_ms]), np.concatenate([far.spread, own.spread]), far.units,
    )  # fmt: skip


def _does_without(from_ms: int, to_ms: int, first_ms: int) -> bool:
    """A glance at the last days must not fail because of what may have been before a probe's first reading."""
    return to_ms >= first_ms and to_ms - from_ms <= GLANCE_MS


def _first(db: sqlite3.Connection, question: str, number: int, else_ms: int) -> int:
    found = db.execute(question, (number,)).fetchone()[0]
    return else_ms if found is None else int(found)


def _channel(db: sqlite3.Connection, number: int) -> Channel:
    row = db.execute("SELECT id, probe, field, quantity, unit, first_ms FROM channel WHERE id=?", (number,)).fetchone()
    return Channel(*row)
