"""Entries read from the book as values."""

from collections.abc import Iterable
from typing import Any, TypeVar

from sqlalchemy import ColumnElement, Connection, RowMapping, or_, select

from dashboard.wheels import tables
from dashboard.wheels.entry_kinds import BODY
from dashboard.wheels.model import Entry, in_order, put_out, standing

_PLAIN = (
    "id",
    "kind",
    "happened_at",
    "done_at",
    "sent_at",
    "received_at",
    "wheel_id",
    "make_id",
    "place_id",
    "gear_id",
    "style_id",
    "group_id",
    "who",
    "zone",
    "typed_time",
    "replaces",
)


HANDFUL = 500
Item = TypeVar("Item")


def handfuls(items: Iterable[Item]) -> list[list[Item]]:
    """So many at a time as every database takes in one question."""
    known = list(items)
    return [known[start : start + HANDFUL] for start in range(0, len(known), HANDFUL)]


def entry_of(row: RowMapping) -> Entry:
    """One row as a value, its body in its typed form."""
    plain: dict[str, Any] = {name: row[name] for name in _PLAIN}
    return Entry(body=BODY.validate_python(row["body"]), flags=tuple(row["flags"]), **plain)


def entries_where(connection: Connection, *conditions: ColumnElement[bool]) -> list[Entry]:
    """All entries that meet the conditions, corrected ones too, in the order in which they happened."""
    rows = connection.execute(select(tables.entry).where(*conditions)).mappings()
    return in_order(entry_of(row) for row in rows)


def standing_where(connection: Connection, *conditions: ColumnElement[bool]) -> list[Entry]:
    """The entries that count among those that meet the conditions, whatever entry corrects or undoes them."""
    return standing(entries_where(connection, *conditions), out_where(connection, *conditions))


def out_where(connection: Connection, *conditions: ColumnElement[bool]) -> set[str]:
    """The ids that are put out by whatever corrects or undoes an entry that meets the conditions."""
    c = tables.entry.c
    ours = select(c.id, c.replaces).where(*conditions).subquery()
    touching = or_(c.replaces.in_(select(ours.c.id)), c.replaces.in_(select(ours.c.replaces)))
    corrections = connection.execute(select(c.id, c.replaces).where(touching)).all()
    return put_out((row.id, row.replaces) for row in corrections)
