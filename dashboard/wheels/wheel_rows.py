"""The row, the stays and the flags of one wheel, and of what was cut or lifted from it, made anew from its entries."""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Any

from sqlalchemy import Connection, delete, insert, select, update

from collector.records.columns import to_ms
from dashboard.wheels import changes, tables
from dashboard.wheels.entry_rows import entries_where, out_where, standing_where
from dashboard.wheels.flags import FLAGS
from dashboard.wheels.history import History, Origin, history_of, seen_too
from dashboard.wheels.marks import marks_of
from dashboard.wheels.model import Entry, standing
from dashboard.wheels.shelf_photos import last_seen_on_shelf

BY_OTHERS = frozenset({"unknown_place", "closed_place", "unknown_replaced", "corrected_twice"})
"""Flags that hang on other tables and are judged elsewhere."""


def refresh_wheel(connection: Connection, wheel_id: str, above: frozenset[str] = frozenset()) -> None:
    """Read a wheel anew, and after it what was cut or lifted from it; `above` stops a ring of cuts."""
    if wheel_id in above:
        return
    changes.note(connection, [wheel_id])
    c = tables.wheel.c
    before = connection.execute(select(c.id).where(c.parent_id == wheel_id)).scalars().all()
    codes = _code(connection, wheel_id)
    history = _history(connection, wheel_id)
    path = above | {wheel_id}
    for part_id in dict.fromkeys([*before, *history.origins]):
        _adopt(connection, part_id, wheel_id if part_id in history.origins else None)
        refresh_wheel(connection, part_id, path)
    for other_id in _sharing(connection, codes ^ _code(connection, wheel_id)):
        refresh_wheel(connection, other_id, path)


def _code(connection: Connection, wheel_id: str) -> set[str]:
    code = connection.execute(select(tables.wheel.c.code).where(tables.wheel.c.id == wheel_id)).scalar_one_or_none()
    return {code} if code else set()


def _sharing(connection: Connection, codes: set[str]) -> list[str]:
    """The wheels that carry one of these codes: whether it is taken has to be judged anew."""
    if not codes:
        return []
    return list(connection.execute(select(tables.wheel.c.id).where(tables.wheel.c.code.in_(codes))).scalars())


def _adopt(connection: Connection, part_id: str, parent_id: str | None) -> None:
    """Note whose part a wheel is, before the part itself is read: it finds its beginning by this."""
    changed = connection.execute(
        update(tables.wheel).where(tables.wheel.c.id == part_id).values(parent_id=parent_id)
    ).rowcount
    if not changed and parent_id is not None:
        connection.execute(insert(tables.wheel).values(id=part_id, parent_id=parent_id, **_BLANK))


_BLANK: dict[str, Any] = {
    "code": "",
    "sheet": {},
    "state": "alive",
    "pieces_left": 1,
    "spot": "",
    "covering": "bare",
    "coats": 1,
    "last": {},
    "notes": {},
}


def _history(connection: Connection, wheel_id: str) -> History:
    about_it = tables.entry.c.wheel_id == wheel_id
    known = entries_where(connection, about_it)
    entries = standing(known, out_where(connection, about_it))
    history = history_of(entries, origin_of(connection, wheel_id))
    taken = _code_taken(connection, wheel_id, history.sheet.code)
    own = {(row.of, row.name) for row in connection.execute(select(tables.own_kind.c.of, tables.own_kind.c.name))}
    _set_flags(connection, known, marks_of(entries, history, own_words=own, code_taken=taken))
    connection.execute(delete(tables.wheel).where(tables.wheel.c.id == wheel_id))
    _write_stays(connection, wheel_id, history)
    if history.known:
        seen = replace(history, last=seen_too(history.last, last_seen_on_shelf(connection, wheel_id)))
        connection.execute(insert(tables.wheel).values(id=wheel_id, **wheel_values(seen)))
    return history


def origin_of(connection: Connection, wheel_id: str, seen: frozenset[str] = frozenset()) -> Origin | None:
    """Where a part or lifted piece began, read from its parent's entries; None for a whole wheel."""
    parent_id = connection.execute(
        select(tables.wheel.c.parent_id).where(tables.wheel.c.id == wheel_id)
    ).scalar_one_or_none()
    if parent_id is None or parent_id in seen:
        return None
    entries = standing_where(connection, tables.entry.c.wheel_id == parent_id)
    above = origin_of(connection, parent_id, seen | {wheel_id})
    return history_of(entries, above).origins.get(wheel_id)


def _code_taken(connection: Connection, wheel_id: str, code: str) -> bool:
    """Whether a wheel made known earlier has the code (ids are in the order of making)."""
    if not code:
        return False
    rows = connection.execute(select(tables.wheel.c.id).where(tables.wheel.c.code == code))
    return any(other < wheel_id for other in rows.scalars())


def wheel_values(history: History) -> dict[str, Any]:
    """The row of a wheel as its history tells it."""
    sheet, counted, now = history.sheet, history.counted, history.now
    return {
        "code": sheet.code,
        "make_id": sheet.make_id,
        "style_id": sheet.style_id,
        "parent_id": history.origin.parent_id if history.origin else None,
        "made_on": sheet.made_on,
        "sheet": sheet.model_dump(mode="json", exclude_unset=True),
        "state": counted.state,
        "state_at": counted.ended_at,
        "pieces_left": counted.left,
        "place_id": now.place_id if now else None,
        "place_since_at": now.from_at if now else None,
        "spot": now.spot if now else "",
        "position": now.position if now else None,
        "covering": now.covering if now else "bare",
        "coats": now.coats if now else 1,
        **_weight_values(history),
        "last": {name: to_ms(at) for name, at in history.last.items()},
        "notes": {name: to_ms(at) for name, at in history.notes.items()},
    }


def _weight_values(history: History) -> dict[str, Any]:
    last = history.weights[-1] if history.weights else None
    return {
        "net_g": last.net_g if last else None,
        "weighed_at": last.at if last else None,
        "start": history.start.name if history.start else None,
        "start_g": history.start.net_g if history.start else None,
        "loss_pct": history.losses[-1].loss_pct if history.losses else None,
    }


def _write_stays(connection: Connection, wheel_id: str, history: History) -> None:
    connection.execute(delete(tables.stay).where(tables.stay.c.wheel_id == wheel_id))
    if not history.known:
        return
    names = ("from_at", "to_at", "place_id", "spot", "covering", "coats")
    rows = [
        {"wheel_id": wheel_id, "number": number, **{name: getattr(stay, name) for name in names}}
        for number, stay in enumerate(history.stays)
    ]
    if rows:
        connection.execute(insert(tables.stay), rows)


def _set_flags(connection: Connection, entries: Iterable[Entry], marks: Mapping[str, set[str]]) -> None:
    """Write the flags that changed; sticky ones stay, and so do those that others judge."""
    for entry in entries:
        kept = {name for name in entry.flags if name in BY_OTHERS or (name in FLAGS and FLAGS[name].sticky)}
        flags = sorted(kept | marks.get(entry.id, set()))
        if flags != sorted(entry.flags):
            connection.execute(update(tables.entry).where(tables.entry.c.id == entry.id).values(flags=flags))
