"""Taking back what was entered together: it did not happen, and what it had corrected is again as it was."""

from collections.abc import Sequence
from datetime import datetime

from sqlalchemy import Connection

from dashboard.rounds.correcting import REFS, as_it_was
from dashboard.rounds.seeded import seeded_id
from dashboard.wheels import tables
from dashboard.wheels.bodies.doings import Withdrawn
from dashboard.wheels.entries import NewEntry, read_entry
from dashboard.wheels.entry_rows import entries_where
from dashboard.wheels.model import Entry


def undoing(db: Connection, group: Sequence[Entry], done_at: datetime, zone: str) -> list[NewEntry]:
    """Entries that take back a group; asked twice they are the same ones.

    An undone correction alone would not bring back what it replaced, so that is entered again.
    """
    replaced = [entry.replaces for entry in group if entry.replaces]
    originals = {old.id: old for old in entries_where(db, tables.entry.c.id.in_(replaced))}
    group_id = seeded_id(group[0].id, "undo")
    return [_undone(entry, originals.get(entry.replaces or ""), group_id, done_at, zone) for entry in group]


def _undone(entry: Entry, original: Entry | None, group_id: str, done_at: datetime, zone: str) -> NewEntry:
    new_id = seeded_id(entry.id, "undone")
    if original is not None:
        return read_entry({**as_it_was(original), "id": new_id, "group_id": group_id, "replaces": entry.id})
    return withdrawal(entry, done_at, zone, group_id)


def withdrawal(entry: Entry, done_at: datetime, zone: str, group_id: str | None = None) -> NewEntry:
    """The entry that says that another did not happen."""
    refs = {name: getattr(entry, name) for name in REFS}
    return NewEntry(
        id=seeded_id(entry.id, "undone"), group_id=group_id or seeded_id(entry.id, "undo"), done_at=done_at, zone=zone,
        replaces=entry.id, body=Withdrawn(), **refs,
    )  # fmt: skip
