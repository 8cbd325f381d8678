"""Bring what the entries say together up to date: always made anew from them, never added to.

One transaction at a time does this (the book's lock), so two phones that send at once cannot each miss the other.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, delete, insert, select, text, update

from collector.records.tables import place
from dashboard.wheels import changes, tables
from dashboard.wheels.bodies.base import Body
from dashboard.wheels.bodies.make import MakeSheet
from dashboard.wheels.bodies.sheets import GearSheet, OwnKind, StyleSheet
from dashboard.wheels.entry_rows import entries_where, handfuls, standing_where
from dashboard.wheels.model import Entry
from dashboard.wheels.sheets import laid_over
from dashboard.wheels.shelf_photos import standing_then
from dashboard.wheels.wheel_rows import BY_OTHERS, refresh_wheel


def lock(connection: Connection) -> None:
    """Let nobody else write to the book until this transaction ends; reading goes on."""
    if connection.dialect.name == "postgresql":
        connection.execute(text("LOCK TABLE entry IN SHARE ROW EXCLUSIVE MODE"))


@dataclass(slots=True)
class Touched:
    """What new entries are about, and so has to be read anew."""

    wheels: dict[str, None] = field(default_factory=dict)
    makes: dict[str, None] = field(default_factory=dict)
    styles: dict[str, None] = field(default_factory=dict)
    gear: dict[str, None] = field(default_factory=dict)
    shelves_seen: dict[tuple[str, datetime], None] = field(default_factory=dict)
    own_kinds: bool = False
    entries: dict[str, None] = field(default_factory=dict)

    def add(self, *rows: Mapping[str, Any] | None) -> None:
        """Take in an entry's row, and the row of what it replaces."""
        for row in filter(None, rows):
            self.entries[row["id"]] = None
            for found, name in ((self.wheels, "wheel_id"), (self.makes, "make_id"), (self.styles, "style_id")):
                if row[name] is not None:
                    found[row[name]] = None
            if row["gear_id"] is not None:
                self.gear[row["gear_id"]] = None
            self.own_kinds = self.own_kinds or row["kind"] == "own_kind"
            if row["kind"] == "shelf_photo" and row["place_id"] is not None:
                self.shelves_seen[row["place_id"], row["happened_at"]] = None


def refresh(connection: Connection, touched: Touched) -> None:
    """Make anew what the touched entries say together, and the flags on them."""
    if touched.own_kinds:
        _own_kinds(connection)
    for make_id in touched.makes:
        _make(connection, make_id)
    for style_id in touched.styles:
        _style(connection, style_id)
    for gear_id in touched.gear:
        _gear(connection, gear_id)
    for wheel_id in sorted(touched.wheels):
        refresh_wheel(connection, wheel_id)
    for wheel_id in sorted(standing_then(connection, touched.shelves_seen) - touched.wheels.keys()):
        refresh_wheel(connection, wheel_id)
    for ids in handfuls(touched.entries):
        _photo_refs(connection, ids)
        _flag_entries(connection, ids)
    changes.note(connection, [] if touched.wheels else [None])
    changes.thin(connection)


def rebuild(connection: Connection) -> None:
    """Make everything anew from the entries: after an import, or whenever in doubt."""
    lock(connection)
    for table in tables.DERIVED:
        connection.execute(delete(table))
    touched = Touched()
    names = ("id", "kind", "wheel_id", "make_id", "style_id", "gear_id", "place_id", "happened_at")
    columns = [tables.entry.c[name] for name in names]
    for row in connection.execute(select(*columns).order_by(tables.entry.c.happened_at)).mappings():
        touched.add(dict(row))
    touched.shelves_seen.clear()  # every wheel is read anew already, and finds the photos of its shelves
    refresh(connection, touched)
    changes.note_everything(connection)


def _write(connection: Connection, table: Any, row_id: str, values: Mapping[str, Any] | None) -> None:
    """Replace a row of what is made from entries; None takes it away."""
    connection.execute(delete(table).where(table.c.id == row_id))
    if values is not None:
        connection.execute(insert(table).values(id=row_id, **values))


def _json(sheet: Body) -> dict[str, Any]:
    return sheet.model_dump(mode="json", exclude_unset=True)


def _make(connection: Connection, make_id: str) -> None:
    found = [e for e in standing_where(connection, tables.entry.c.make_id == make_id) if e.kind == "make"]
    sheet = laid_over(MakeSheet, (e.body for e in found))
    values = {"code": sheet.code, "style_id": sheet.style_id, "made_on": sheet.made_on, "sheet": _json(sheet)}
    _write(connection, tables.make, make_id, values if found else None)


def _style(connection: Connection, style_id: str) -> None:
    found = [e for e in standing_where(connection, tables.entry.c.style_id == style_id) if e.kind == "style"]
    sheet = laid_over(StyleSheet, (e.body for e in found))
    _write(connection, tables.style, style_id, {"name": sheet.name, "sheet": _json(sheet)} if found else None)


def _gear(connection: Connection, gear_id: str) -> None:
    found = [e for e in standing_where(connection, tables.entry.c.gear_id == gear_id) if e.kind == "gear"]
    sheet = laid_over(GearSheet, (e.body for e in found))
    where = next((e.place_id for e in reversed(found) if e.place_id), None)
    values = {"gear": sheet.gear, "name": sheet.name, "place_id": where, "retired": sheet.retired}
    _write(connection, tables.gear, gear_id, {**values, "sheet": _json(sheet)} if found else None)


def _own_kinds(connection: Connection) -> None:
    connection.execute(delete(tables.own_kind))
    by_name: dict[tuple[str, str], list[OwnKind]] = {}
    for entry in standing_where(connection, tables.entry.c.kind == "own_kind"):
        if isinstance(entry.body, OwnKind):
            by_name.setdefault((entry.body.of, entry.body.name), []).append(entry.body)
    for (of, name), bodies in by_name.items():
        sheet = laid_over(OwnKind, bodies)
        values = {"word": sheet.word, "calls_for": sheet.calls_for, "retired": sheet.retired}
        connection.execute(insert(tables.own_kind).values(of=of, name=name, **values))


def _flag_entries(connection: Connection, ids: list[str]) -> None:
    """Flags that hang on other tables: the place named, and the entry replaced."""
    places = {row.id: row.closed_at for row in connection.execute(select(place.c.id, place.c.closed_at))}
    for entry in entries_where(connection, tables.entry.c.id.in_(ids)):
        flags = (set(entry.flags) - BY_OTHERS) | _about_place(entry, places) | _about_replaced(connection, entry)
        if flags != set(entry.flags):
            values = {"flags": sorted(flags)}
            connection.execute(update(tables.entry).where(tables.entry.c.id == entry.id).values(**values))


def _about_place(entry: Entry, places: Mapping[str, Any]) -> set[str]:
    if entry.place_id is None:
        return set()
    if entry.place_id not in places:
        return {"unknown_place"}
    closed_at = places[entry.place_id]
    return {"closed_place"} if closed_at is not None and closed_at <= entry.happened_at else set()


def _about_replaced(connection: Connection, entry: Entry) -> set[str]:
    if entry.replaces is None:
        return set()
    c = tables.entry.c
    flags = set()
    if connection.execute(select(c.id).where(c.id == entry.replaces)).first() is None:
        flags.add("unknown_replaced")
    if connection.execute(select(c.id).where(c.replaces == entry.replaces, c.id != entry.id)).first() is not None:
        flags.add("corrected_twice")
    return flags


def _photo_refs(connection: Connection, ids: list[str]) -> None:
    connection.execute(delete(tables.photo_ref).where(tables.photo_ref.c.entry_id.in_(ids)))
    rows = [
        {"entry_id": entry.id, "number": number, "photo_id": photo_id}
        for entry in entries_where(connection, tables.entry.c.id.in_(ids))
        for number, photo_id in enumerate(entry.body.photos)
    ]
    if rows:
        connection.execute(insert(tables.photo_ref), rows)
