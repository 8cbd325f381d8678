"""What a whole vat came through: its brine tub, milk and packets, read from the make sheets. Only reads."""

from collections.abc import Iterable
from typing import Any

from sqlalchemy import Connection

from dashboard.wheels import tables
from dashboard.wheels.bodies.make import Added, MakeSheet, Milk
from dashboard.wheels.book import Make, makes
from dashboard.wheels.entry_rows import handfuls


def makes_of(db: Connection, make_ids: Iterable[str]) -> list[Make]:
    """The makes with these ids."""
    return [make for some in handfuls(sorted(make_ids)) for make in makes(db, tables.make.c.id.in_(some))]


def shared_of(sheet: MakeSheet) -> dict[str, frozenset[str]]:
    """What one make came through; its values are their own words, but for the tub."""
    return {
        "brine": _said([sheet.brine_id]),
        "milk": _said(_milk(one) for one in sheet.milks),
        "culture": _said(_packet(one) for one in sheet.cultures),
        "mould": _said(_packet(one) for one in sheet.moulds),
        "rennet": _said([_packet(sheet.rennet)] if sheet.rennet else ()),
    }


def _said(values: Iterable[Any]) -> frozenset[str]:
    return frozenset(str(value) for value in values if value)


def _milk(milk: Milk) -> str:
    """A milk that nobody said more of than its kind is no lot."""
    if not (milk.farm or milk.milking or milk.lot):
        return ""
    said = (milk.species, milk.farm, milk.milking, f"lot {milk.lot}" if milk.lot else "")
    return " ".join(part for part in said if part)


def _packet(one: Added) -> str:
    return f"{one.name}, lot {one.lot}" if one.lot else one.name
