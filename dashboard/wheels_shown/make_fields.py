"""The fields of a make's sheet as its form shows them, in groups, and what was typed read back; pure.

A field is one row in GROUPS; what a sheet can hold is in wheels/bodies/make.py.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, Literal, get_args

from collector.errors import EntryRefused
from dashboard import words
from dashboard.forms import of_field
from dashboard.household import Household
from dashboard.moments_typed import habits, moment_typed
from dashboard.rounds.typed import Asked
from dashboard.wheels.bodies.make import MakeSheet, Species
from dashboard.wheels.days_typed import parse_day
from dashboard.wheels.measures import (
    LENGTH,
    PERCENT,
    PH,
    VOLUME,
    Measure,
    Unit,
    parse,
    parse_minutes,
    parse_temperature_c,
)

Kind = Literal[
    "text", "day", "moment", "ahead", "temperature", "minutes", "hours", "percent", "ph", "length", "number",
    "heat", "style", "brine", "long", "milks", "added", "one_added", "pressings",
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class Field:
    """One field: its name in the sheet, its label, how it is read, and a hint."""

    name: str
    label: str
    kind: Kind = "text"
    hint: str = ""


@dataclass(frozen=True, slots=True)
class Group:
    """Fields that stand together in a part that opens and shuts."""

    title: str
    fields: tuple[Field, ...]


STEPS: dict[str, str] = {
    "culture_at": "Culture in", "rennet_at": "Rennet in", "flocculation_at": "Flocculated", "cut_at": "Cut",
    "cook_from_at": "Cooking from", "cook_to_at": "Cooking to", "drained_at": "Drained", "hooped_at": "Hooped",
    "pressed_at": "Pressed", "salted_at": "Salted", "brine_in_at": "Into the brine",
}  # fmt: skip
"""The words of the steps that have a "now" button, in the order of the day."""

GROUPS: tuple[Group, ...] = (
    Group("What and when", (
        Field("code", "Code of the make", hint="Your own, like 26-11."), Field("style_id", "Style", "style"),
        Field("made_on", "Made on", "day", "Like 3 Feb, or 2026-02-03."),
    )),
    Group("Milk", (
        Field("milks", "Milk", "milks"), Field("heat", "The milk was", "heat"),
        Field("heat_c", "Heated to", "temperature"), Field("heat_min", "for", "minutes"), Field("ph_milk", "pH", "ph"),
    )),
    Group("Culture, mould, additions", (
        Field("cultures", "Culture", "added"), Field("culture_c", "At", "temperature"),
        Field("moulds", "Mould powder", "added"), Field("calcium", "Calcium chloride", "one_added"),
        Field("additions", "Additions", "added"),
    )),
    Group("Rennet and curd", (
        Field("rennet", "Rennet", "one_added"), Field("rennet_c", "At", "temperature"),
        Field("flocculation_factor", "Flocculation factor", "number", "Cut after so many times the flocculation time."),
        Field("curd_mm", "Curd size", "length", "Like 8 mm."), Field("cook_c", "Cooked to", "temperature"),
    )),
    Group("Draining, hooping, press", (
        Field("ph_draining", "pH at draining", "ph"), Field("acidity_draining", "or acidity"),
        Field("ph_hooping", "pH at hooping", "ph"), Field("acidity_hooping", "or acidity"),
        Field("pressings", "Press", "pressings"),
    )),
    Group("Salt", (
        Field("ph_salting", "pH at salting", "ph"), Field("acidity_salting", "or acidity"),
        Field("dry_salt_pct", "Dry salt, of the curd", "percent"), Field("brine_id", "Brine tub", "brine"),
        Field("brine_h", "In the brine for", "hours"),
    )),
    Group("Times of the day", tuple(Field(name, word, "moment") for name, word in STEPS.items())),
    Group("Next step, analysis, words", (
        Field("next_step", "Next step"), Field("next_at", "at", "ahead"),
        Field("moisture_pct", "Moisture", "percent"), Field("fat_pct", "Fat", "percent"),
        Field("moisture_how", "How that is known"), Field("notes", "Words", "long"),
    )),
)  # fmt: skip
FIELDS: dict[str, Field] = {field.name: field for group in GROUPS for field in group.fields}
HEATS = {"": "not said", "raw": "raw", "thermised": "heated, but not pasteurised", "pasteurised": "pasteurised"}
MILKS = {"": "none", **{name: name for name in get_args(Species)}}
ROWS: dict[str, tuple[str, ...]] = {
    "milks": ("species", "volume_l", "farm", "milking", "lot"), "added": ("name", "amount", "lot"),
    "one_added": ("name", "amount", "lot"), "pressings": ("weight_kg", "minutes"),
}  # fmt: skip
ROW_LABELS = {
    "species": "Milk of", "volume_l": "Litres", "farm": "Farm", "milking": "Milking", "lot": "Packet or lot",
    "name": "What", "amount": "How much", "weight_kg": "Kilograms", "minutes": "Minutes",
}  # fmt: skip
BLANK_ROWS, MOST_ROWS = 1, 8
FACTOR = Measure("factor", "times", 0.1, 20, (Unit(("times", "x"), 1),))  # the widest that a sheet keeps: our choice


def rows_of(field: Field, sheet: MakeSheet) -> int:
    """How many rows the form shows for a field of several: those that are filled in, and one to fill."""
    if field.kind == "one_added":
        return 1
    return min(len(getattr(sheet, field.name)) + BLANK_ROWS, MOST_ROWS) if field.kind in ROWS else 0


def texts_of(sheet: MakeSheet, household: Household) -> dict[str, str]:
    """A sheet as its form shows it; a field of several as name, row and part: "milks-0-farm"."""
    found: dict[str, str] = {}
    for field in FIELDS.values():
        value = getattr(sheet, field.name)
        if field.kind in ROWS:
            several = value if isinstance(value, tuple) else (value,) if value is not None else ()
            for number, one in enumerate(several):
                found |= {f"{field.name}-{number}-{part}": _plain(getattr(one, part)) for part in ROWS[field.kind]}
        else:
            found[field.name] = _shown(value, field, household)
    return found


def _plain(value: Any) -> str:
    return "" if value is None else f"{value:g}" if isinstance(value, float) else str(value)


def _shown(value: Any, field: Field, household: Household) -> str:
    if value is None:
        return ""
    if isinstance(value, datetime):
        return f"{words.local(value, household):%Y-%m-%dT%H:%M}"
    if field.kind == "temperature":
        return words.temperature_number(value, household)
    return value.isoformat() if isinstance(value, date) else _plain(value)


def changed_fields(asked: Asked, sheet: MakeSheet) -> dict[str, Any]:
    """What the form says otherwise than the sheet does, by the sheet's names.

    Raises:
        EntryRefused: a field that cannot be read; names the form's field.
    """
    before = texts_of(sheet, asked.household)
    found: dict[str, Any] = {}
    for field in FIELDS.values():
        if field.kind in ROWS:
            names = [f"{field.name}-{n}-{part}" for n in range(MOST_ROWS) for part in ROWS[field.kind]]
            if any(name in asked.texts and asked.text(name) != before.get(name, "") for name in names):
                found[field.name] = _several(asked, field)
        elif field.name in asked.texts and asked.text(field.name) != before[field.name]:
            found[field.name] = _read(asked, field)
    return found


def _several(asked: Asked, field: Field) -> Any:
    parts = ROWS[field.kind]
    said = [
        {part: text for part in parts if (text := asked.text(f"{field.name}-{number}-{part}"))}
        for number in range(MOST_ROWS)
    ]
    needs = parts[0]
    kept = [_row(field, number, row) for number, row in enumerate(said) if needs in row]
    lost = next((number for number, row in enumerate(said) if row and needs not in row), None)
    if lost is not None:
        name = f"{field.name}-{lost}-{needs}"
        raise EntryRefused(name, f"{field.label}: fill in {ROW_LABELS[needs].lower()} too, or clear the line.")
    return (kept[0] if kept else None) if field.kind == "one_added" else kept


def _row(field: Field, number: int, row: Mapping[str, str]) -> dict[str, Any]:
    readers: dict[str, Callable[[str], Any]] = {
        "volume_l": lambda text: parse(text, VOLUME, "l"), "weight_kg": _kilograms, "minutes": parse_minutes,
    }  # fmt: skip
    return {
        part: _named(f"{field.name}-{number}-{part}", readers[part], text) if part in readers else text
        for part, text in row.items()
    }


def _kilograms(text: str) -> float:
    plain = text.casefold().removesuffix("kg").strip().replace(",", ".")
    try:
        return float(plain)
    except ValueError as wrong:
        raise EntryRefused("weight", f"weight on the press is not a number of kilograms, got {text[:20]!r}") from wrong


def _named(name: str, reader: Callable[[str], Any], text: str) -> Any:
    try:
        return reader(text)
    except EntryRefused as refused:
        raise of_field(name, refused) from refused


def _read(asked: Asked, field: Field) -> Any:
    text = asked.text(field.name)
    if field.kind in {"text", "long"}:
        return text
    if not text:
        return None
    if field.kind in {"moment", "ahead"}:
        at = moment_typed(text, asked.household, asked.now_at, field.name, ahead=field.kind == "ahead")
        return at.isoformat()
    if field.kind == "temperature":
        unit = asked.household.temperature_unit.casefold()
        return _named(field.name, lambda typed: parse_temperature_c(typed, unit), text)
    reader = _READERS.get(field.kind)
    if field.kind == "day":
        day = habits(asked.household, asked.now_at)
        return _named(field.name, lambda typed: parse_day(typed, day, field="made").isoformat(), text)
    return _named(field.name, reader, text) if reader else text


_READERS: dict[str, Callable[[str], Any]] = {
    "minutes": parse_minutes,
    "hours": lambda text: parse_minutes(text, "h") / 60,
    "percent": lambda text: parse(text, PERCENT, "%"),
    "ph": lambda text: parse(text, PH, "ph"),
    "length": lambda text: parse(text, LENGTH, "mm"),
    "number": lambda text: parse(text, FACTOR, "times", "flocculation factor"),
}


def step_done(name: str, now_at: datetime) -> dict[str, Any]:
    """What a "now" button says.

    Raises:
        EntryRefused: no such step.
    """
    if name not in STEPS:
        raise EntryRefused("now", "Use the page's own buttons.")
    return {name: now_at.isoformat()}
