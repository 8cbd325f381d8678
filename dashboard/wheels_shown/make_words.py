"""A make's sheet in words, group by group; blanks are left out."""

from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from sqlalchemy import Connection

from dashboard import words
from dashboard.rounds.shelves import Looked
from dashboard.wheels.bodies.make import Added, MakeSheet, Milk, Pressing
from dashboard.wheels.book import gear
from dashboard.wheels_shown.make_fields import GROUPS, Field

UNITS = {"minutes": " min", "hours": " h", "percent": " %", "ph": "", "length": " mm", "number": " times"}


@dataclass(frozen=True, slots=True)
class Said:
    """One group of the sheet: its title, and (label, words) of what was filled in."""

    title: str
    facts: tuple[tuple[str, str], ...]


def sheet_words(db: Connection, sheet: MakeSheet, looked: Looked) -> tuple[Said, ...]:
    """The groups of a sheet in which something was filled in."""
    tubs = {one.id: one.name or "brine" for one in gear(db)}
    found = []
    for group in GROUPS:
        facts = [(field.label, _words(getattr(sheet, field.name), field, tubs, looked)) for field in group.fields]
        kept = tuple((label, text) for label, text in facts if text)
        if kept:
            found.append(Said(group.title, kept))
    return tuple(found)


def _words(value: Any, field: Field, tubs: dict[str, str], looked: Looked) -> str:
    if value is None or value == "" or value == ():
        return ""
    if isinstance(value, tuple):
        return "; ".join(_part(one) for one in value)
    if isinstance(value, Added):
        return _part(value)
    if isinstance(value, datetime):
        return words.moment(value, looked.now_at, looked.household)
    if isinstance(value, date):
        return words.long_date(value, looked.household)
    if field.kind == "temperature":
        return words.temperature(value, looked.household)
    if field.kind == "style":
        style = looked.styles.get(value)
        return style.sheet.name if style else "a style that is not in the book"
    if field.kind == "brine":
        return tubs.get(value, "a tub that is not in the book")
    return f"{value:g}{UNITS[field.kind]}" if isinstance(value, float) else str(value)


def _part(one: Any) -> str:
    if isinstance(one, Milk):
        litres = f"{one.volume_l:g} l" if one.volume_l else ""
        said = (litres, one.species, one.farm, one.milking, one.lot and f"lot {one.lot}")
        return " ".join(part for part in said if part)
    if isinstance(one, Pressing):
        return f"{one.weight_kg:g} kg" + (f" for {one.minutes:g} min" if one.minutes is not None else "")
    return ", ".join(part for part in (one.name, one.amount, one.lot and f"lot {one.lot}") if part)
