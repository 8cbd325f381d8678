"""What the entries of a time say about each wheel: sick, seen, and where it stood. Only reads.

Years of care are counted where they lie, in the database; only what differs comes out of it. Times are ms.
"""

from collections.abc import Mapping

from sqlalchemy import BigInteger, ColumnElement, Connection, and_, exists, or_, select, type_coerce

from collector.records.columns import to_ms
from dashboard.wheels import tables
from dashboard.wheels.entry_rows import handfuls
from dashboard.wheels.shelf_photos import seen_on_shelves
from dashboard.wheels.vat_time import Span

_E = tables.entry.c
_AT = type_coerce(_E.happened_at, BigInteger)


def stands() -> ColumnElement[bool]:
    """The entry was not undone or corrected, and is not the earlier of two corrections; see `model.put_out`."""
    other = tables.entry.alias()
    replaced = select(_E.replaces).where(_E.replaces.is_not(None)).correlate(None)
    beaten = exists().where(other.c.replaces == _E.replaces, other.c.id > _E.id)
    return and_(_E.id.not_in(replaced), or_(_E.replaces.is_(None), ~beaten), _E.wheel_id.is_not(None))


def sick_since(db: Connection, span: Span) -> dict[str, int]:
    """When each sick wheel was first noted."""
    rows = db.execute(
        select(_E.wheel_id, _AT, _E.body)
        .where(_E.kind == "rind_note", to_ms(span.sick_from_at) <= _AT, to_ms(span.until_at) >= _AT, stands())
        .order_by(_AT)
    )
    found: dict[str, int] = {}
    for wheel_id, at_ms, body in rows:
        if body["note"] == span.kind and not body.get("gone"):
            found.setdefault(wheel_id, at_ms)
    return found


def looked_at(db: Connection, span: Span) -> frozenset[str]:
    """The wheels whose rind was seen since; only of those that were seen later too are the entries asked."""
    from_ms, until_ms = to_ms(span.seen_from_at), to_ms(span.until_at)
    c = tables.wheel.c
    rows = db.execute(select(c.id, c.last["looked"].as_string()))
    last = {id_: int(at) for id_, at in rows if at is not None and int(at) >= from_ms}
    within = {id_ for id_, at_ms in last.items() if at_ms <= until_ms}
    later = sorted(last.keys() - within)
    seen = _E.kind.in_(("looked", "rind_note")) | and_(_E.kind == "care", _E.body["nothing_new"].as_boolean())
    asked = (_E.kind.in_(("looked", "rind_note", "care")), from_ms <= _AT, until_ms >= _AT, seen, stands())
    for some in handfuls(later):
        within.update(db.execute(select(_E.wheel_id).where(*asked, _E.wheel_id.in_(some)).distinct()).scalars())
    return frozenset(within | seen_on_shelves(db, span.seen_from_at, span.until_at))


def stood_in(db: Connection, span: Span, sick_at: Mapping[str, int]) -> dict[str, dict[str, int]]:
    """How long each wheel stood in each place within the time [ms]; of a sick one, until it was noted."""
    c = tables.stay.c
    begun, ended = type_coerce(c.from_at, BigInteger), type_coerce(c.to_at, BigInteger)
    first_ms, last_ms = to_ms(span.from_at), to_ms(span.to_at)
    rows = db.execute(
        select(c.wheel_id, c.place_id, begun, ended).where(
            begun <= last_ms, ended.is_(None) | (ended > first_ms), c.place_id.is_not(None)
        )
    )
    found: dict[str, dict[str, int]] = {}
    for wheel_id, place_id, from_ms, to_ms_ in rows:
        end_ms = min(last_ms, max(sick_at.get(wheel_id, last_ms), first_ms), last_ms if to_ms_ is None else to_ms_)
        length_ms = end_ms - max(from_ms, first_ms)
        if length_ms >= 0:
            own = found.setdefault(wheel_id, {})
            own[place_id] = own.get(place_id, 0) + length_ms
    return found
