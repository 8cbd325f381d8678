"""What makes hand down: who has a piece of this milk, what to do next time, and the sheet to make again. Only reads."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection, select

from dashboard.wheels import tables
from dashboard.wheels.bodies.doings import Cut, Ended, Tasting
from dashboard.wheels.bodies.make import OF_THE_DAY, MakeSheet
from dashboard.wheels.book import Wheel, makes, wheels
from dashboard.wheels.entry_rows import standing_where
from dashboard.wheels.model import Entry
from dashboard.wheels.sheets import blank_of


@dataclass(frozen=True, slots=True)
class Piece:
    """A piece that left the house: to whom, how, how much, of which wheel."""

    at: datetime
    to_whom: str
    how: str
    wheel: Wheel
    pieces: int | None = None
    amount_g: float | None = None


def everyone_with(connection: Connection, make_id: str) -> list[Piece]:
    """Everyone who was given or sold a piece of this milk, parts and pieces lifted out included, the latest first."""
    family = {wheel.id: wheel for wheel in wheels_of(connection, make_id)}
    entries = standing_where(
        connection, tables.entry.c.wheel_id.in_(list(family)), tables.entry.c.kind.in_(("ended", "cut"))
    )
    found = [piece for e in entries if (piece := _piece(e, family)) is not None]
    return sorted(found, key=lambda piece: piece.at, reverse=True)


def _piece(entry: Entry, family: dict[str, Wheel]) -> Piece | None:
    body, wheel = entry.body, family[str(entry.wheel_id)]
    if isinstance(body, Ended) and body.how in {"given", "sold"}:
        return Piece(entry.happened_at, body.to_whom, body.how, wheel, body.pieces, body.amount_g)
    if isinstance(body, Cut) and body.rest in {"given", "sold"}:
        return Piece(entry.happened_at, body.to_whom, body.rest, wheel, None, body.rest_g)
    return None


def wheels_of(connection: Connection, make_id: str) -> list[Wheel]:
    """All wheels of one make, ended ones and parts too."""
    return wheels(connection, tables.wheel.c.make_id == make_id)


@dataclass(frozen=True, slots=True)
class Tasted:
    """A tasting of one wheel."""

    at: datetime
    wheel: Wheel
    tasting: Tasting
    entry_id: str


def tastings(connection: Connection, family: Iterable[Wheel]) -> list[Tasted]:
    """The tastings of some wheels, the latest first."""
    by_id = {wheel.id: wheel for wheel in family}
    entries = standing_where(connection, tables.entry.c.wheel_id.in_(list(by_id)), tables.entry.c.kind == "tasting")
    return [
        Tasted(e.happened_at, by_id[str(e.wheel_id)], e.body, e.id)
        for e in reversed(entries)
        if isinstance(e.body, Tasting)
    ]


@dataclass(frozen=True, slots=True)
class Again:
    """A make to be made again: its sheet without what belonged to the day, the last "next time", and the tastings."""

    sheet: MakeSheet
    next_time: str
    tastings: tuple[Tasted, ...]


def make_again(connection: Connection, make_id: str) -> Again | None:
    """What stands on top when a make is made again; None if there is no such make."""
    found = makes(connection, tables.make.c.id == make_id)
    if not found:
        return None
    tasted = tastings(connection, wheels_of(connection, make_id))
    next_time = next((t.tasting.next_time for t in tasted if t.tasting.next_time), "")
    return Again(blank_of(found[0].sheet, OF_THE_DAY), next_time, tuple(tasted))


def milk_words(sheet: MakeSheet) -> list[str]:
    """The milk of a make in a few words each: species, farm, lot."""
    return [" ".join(filter(None, (milk.species, milk.farm, milk.milking, milk.lot))) for milk in sheet.milks]


def makes_with_milk(connection: Connection, species: str) -> list[str]:
    """Ids of the makes whose vat held milk of a species."""
    rows = connection.execute(select(tables.make.c.id, tables.make.c.sheet))
    return [row.id for row in rows if any(m.get("species", "cow") == species for m in row.sheet.get("milks", ()))]
