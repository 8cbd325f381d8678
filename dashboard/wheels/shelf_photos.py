"""Photos of whole shelves: which wheels stood there then, and so were seen. Only reads.

The entry names the place; who stood there is read from the stays, so that a move that comes later sets it right.
"""

from collections.abc import Iterable, Sequence
from datetime import datetime

from sqlalchemy import ColumnElement, Connection, RowMapping, Select, and_, exists, func, or_, select

from dashboard.wheels import tables
from dashboard.wheels.entry_rows import entries_where, handfuls
from dashboard.wheels.model import Entry

KIND = "shelf_photo"
_E, _S, _R, _P = tables.entry.c, tables.stay.c, tables.photo_ref.c, tables.photo.c
# Wrapped, so that photos are found by their kind: all that ever came to a place is far more.
_STOOD_THERE = and_(
    _S.place_id == func.coalesce(_E.place_id, ""),
    _S.from_at <= _E.happened_at,
    or_(_S.to_at.is_(None), _S.to_at > _E.happened_at),
)


def _stands() -> ColumnElement[bool]:
    """A photo of a shelf that was not taken back or corrected, nor beaten by a later correction; see `put_out`."""
    one, other = tables.entry.alias(), tables.entry.alias()
    replaced = exists().where(one.c.replaces == _E.id)
    beaten = exists().where(other.c.replaces == _E.replaces, other.c.id > _E.id)
    return and_(_E.kind == KIND, ~replaced, or_(_E.replaces.is_(None), ~beaten))


def last_seen_on_shelf(connection: Connection, wheel_id: str) -> datetime | None:
    """When the shelf that a wheel stood on was last photographed while it stood there."""
    newest = (
        select(_E.happened_at)
        .join_from(tables.stay, tables.entry, _STOOD_THERE)
        .where(_S.wheel_id == wheel_id, _stands())
        .order_by(_E.happened_at.desc())
        .limit(1)
    )
    return connection.execute(newest).scalar_one_or_none()


def standing_then(connection: Connection, shelves: Iterable[tuple[str, datetime]]) -> set[str]:
    """The wheels that stood in a place at a moment, of several (place, moment)."""
    found: set[str] = set()
    for place_id, at in shelves:
        there = and_(_S.place_id == place_id, _S.from_at <= at, or_(_S.to_at.is_(None), _S.to_at > at))
        found.update(connection.execute(select(_S.wheel_id).where(there)).scalars())
    return found


def seen_on_shelves(connection: Connection, from_at: datetime, until_at: datetime) -> set[str]:
    """The wheels that were seen in a photo of their shelf within a time, its ends included."""
    return set(connection.execute(_seen(_S.wheel_id, from_at, until_at).distinct()).scalars())


def times_seen(connection: Connection, wheel_ids: Sequence[str]) -> list[tuple[str, datetime]]:
    """Each time that one of some wheels was seen in a photo of its shelf."""
    found = []
    for some in handfuls(wheel_ids):
        rows = connection.execute(_seen(_S.wheel_id).add_columns(_E.happened_at).where(_S.wheel_id.in_(some)))
        found += [(row.wheel_id, row.happened_at) for row in rows]
    return found


def _seen(what: ColumnElement[str], from_at: datetime | None = None, until_at: datetime | None = None) -> Select[str]:
    within = [] if from_at is None else [_E.happened_at >= from_at]
    within += [] if until_at is None else [_E.happened_at <= until_at]
    return select(what).join_from(tables.entry, tables.stay, _STOOD_THERE).where(_stands(), *within)


def seen_in(connection: Connection, wheel_id: str) -> list[Entry]:
    """The photos of shelves in which a wheel was seen, as entries, in order."""
    ids = list(connection.execute(_seen(_E.id).where(_S.wheel_id == wheel_id)).scalars())
    return [entry for some in handfuls(ids) for entry in entries_where(connection, _E.id.in_(some))]


def photos_seen_in(connection: Connection, wheel_id: str) -> list[RowMapping]:
    """The pictures of the shelves in which a wheel was seen, in the order in which they were taken."""
    query = _pictures().join(tables.stay, _STOOD_THERE).where(_S.wheel_id == wheel_id)
    return list(connection.execute(query.order_by(_E.happened_at, _E.id, _R.number)).mappings())


def shelf_pictures(connection: Connection, place_ids: Sequence[str], most: int) -> list[RowMapping]:
    """The latest pictures of some places, the newest first; each with its place, entry and who took it."""
    query = _pictures().where(func.coalesce(_E.place_id, "").in_(list(place_ids)))
    newest = query.order_by(_E.happened_at.desc(), _E.id.desc(), _R.number).limit(most)
    return list(connection.execute(newest).mappings())


def newest_pictures(connection: Connection) -> dict[str, RowMapping]:
    """The newest picture of each place that has one; of a photo with several pictures the first."""
    rows = connection.execute(_pictures().order_by(_E.happened_at, _E.id, _R.number.desc())).mappings()
    return {str(row["place_id"]): row for row in rows}


def _pictures() -> Select[tuple[str, ...]]:
    """Pictures that have come, of photos that stand."""
    return (
        select(_P.id, _P.content_hash, _P.small_hash, _P.width, _P.height, _E.place_id, _E.happened_at, _E.who)
        .add_columns(_E.id.label("entry_id"))
        .join_from(tables.entry, tables.photo_ref, _R.entry_id == _E.id)
        .join(tables.photo, _R.photo_id == _P.id)
        .where(_stands())
    )
