"""Reading and adding places and the dated facts about them."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import asdict, fields
from datetime import UTC, datetime
from typing import Any, TypeVar

from sqlalchemy import Connection, Row, Table, insert, select, update

from collector.records import tables
from collector.records.facts import (
    Calibration,
    Dated,
    Facts,
    FieldSetting,
    Lead,
    Place,
    Placement,
    Target,
    as_of,
)

Fact = TypeVar("Fact", bound=Dated)
LONG_AGO = datetime(2000, 1, 1, tzinfo=UTC)
TABLES: dict[type[Any], Table] = {
    Target: tables.target,
    Placement: tables.placement,
    Lead: tables.lead,
    Calibration: tables.calibration,
    FieldSetting: tables.field_setting,
}


def load_facts(connection: Connection, known_at: datetime | None = None) -> Facts:
    """Everything known at a time (None: now) about places, targets, placements, leads, calibrations and fields."""
    return Facts(
        places={p.id: p for p in places(connection)},
        targets=_grouped(_known(connection, Target, known_at), lambda f: f.place_id),
        placements=_grouped(_known(connection, Placement, known_at), lambda f: (f.probe, f.field)),
        leads=_grouped(_known(connection, Lead, known_at), lambda f: f.place_id),
        calibrations=_grouped(_known(connection, Calibration, known_at), lambda f: (f.probe, f.field)),
        field_settings=_grouped(_known(connection, FieldSetting, known_at), lambda f: (f.probe, f.field)),
    )


def places(connection: Connection) -> list[Place]:
    rows = connection.execute(select(tables.place).order_by(tables.place.c.position, tables.place.c.name))
    return [Place(**row._mapping) for row in rows]


def _known(connection: Connection, kind: type[Fact], known_at: datetime | None) -> list[Fact]:
    rows = connection.execute(select(TABLES[kind]))
    return as_of((_value(kind, row) for row in rows), known_at)


def _value(kind: type[Fact], row: Row[Any]) -> Fact:
    values = dict(row._mapping)
    if "points" in values:
        values["points"] = tuple(tuple(point) for point in values["points"])
    return kind(**values)


def _grouped(facts: Iterable[Any], key: Any) -> dict[Any, list[Any]]:
    groups: dict[Any, list[Any]] = defaultdict(list)
    for fact in facts:
        groups[key(fact)].append(fact)
    return dict(groups)


def add_place(connection: Connection, place: Place) -> None:
    connection.execute(insert(tables.place).values(**asdict(place)))


def change_place(connection: Connection, place_id: str, **changes: Any) -> None:
    """Rename, reorder, close a place, or give it an assumed air.

    Raises:
        ValueError: a column that a place does not have.
    """
    unknown = set(changes) - {f.name for f in fields(Place)} | ({"id"} & set(changes))
    if unknown:
        raise ValueError(f"a place has no {sorted(unknown)[0]}")
    connection.execute(update(tables.place).where(tables.place.c.id == place_id).values(**changes))
    if set(changes) & {"assumed_temperature_c", "assumed_humidity_pct", "parent_id"}:
        log_fact(connection, "place", LONG_AGO, place_id=place_id)


def add_fact(connection: Connection, fact: Dated) -> None:
    """Add a dated fact and have its span looked at again; nothing is overwritten."""
    values = asdict(fact)  # type: ignore[call-overload]
    connection.execute(insert(TABLES[type(fact)]).values(**values))
    log_fact(
        connection,
        type(fact).__name__.lower(),
        fact.valid_from_at,
        probe=values.get("probe"),
        place_id=values.get("place_id"),
    )


def log_fact(
    connection: Connection, cause: str, from_at: datetime, *, probe: str | None = None, place_id: str | None = None
) -> None:
    """Have everything that a fact touches from a time on looked at again."""
    connection.execute(insert(tables.fact_change).values(cause=cause, from_at=from_at, probe=probe, place_id=place_id))
