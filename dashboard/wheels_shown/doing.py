"""Covering, cutting, lifting out, counting, ending and changing a wheel: from a form to the body of an entry; pure."""

from collections.abc import Callable, Mapping
from typing import Any, get_args

from collector.errors import EntryRefused
from dashboard.forms import of_field
from dashboard.moments_typed import habits
from dashboard.rounds.entering import Sheet
from dashboard.rounds.seeded import seeded_id
from dashboard.rounds.typed import Asked, grams
from dashboard.wheels.bodies.make import Species
from dashboard.wheels.bodies.sheets import Shape
from dashboard.wheels.book import Wheel
from dashboard.wheels.days_typed import parse_day
from dashboard.wheels.entries import NewEntry
from dashboard.wheels.kinds.endings import ENDINGS
from dashboard.wheels.measures import LENGTH, PERCENT, parse
from dashboard.wheels_shown.naming import FRESH, fresh_style

MOST_PARTS = 8
SPECIES = {"": "not said", **{name: name for name in get_args(Species)}}
HEATS = {"": "not said", "raw": "raw", "thermised": "heated, but not pasteurised", "pasteurised": "pasteurised"}
SHAPES = {name: name for name in get_args(Shape)}

Texts = Mapping[str, str]


def whole_number(asked: Asked, name: str, least: int = 1) -> int:
    """A whole number as it was typed.

    Raises:
        EntryRefused: it is none, or below the least.
    """
    text = asked.text(name)
    if not (text.isascii() and text.isdigit() and len(text) <= 5) or int(text) < least:
        raise EntryRefused(name, f"Give a whole number from {least}, got {text[:20] or 'nothing'}.")
    return int(text)


def weight_or_none(asked: Asked, name: str) -> float | None:
    return float(grams(asked, name)) if asked.text(name) else None


def _said(**fields: Any) -> dict[str, Any]:
    return {name: value for name, value in fields.items() if value not in (None, "")}


def _covered(asked: Asked, wheel: Wheel, sheet: Sheet) -> list[NewEntry]:
    coats = whole_number(asked, "coats") if asked.text("coats") else 1
    body = _said(
        kind="covered", covering=asked.text("covering"), coats=coats,
        before_g=weight_or_none(asked, "before"), after_g=weight_or_none(asked, "after"), text=asked.text("text"),
    )  # fmt: skip
    return [sheet.entry(body, wheel.id, wheel_id=wheel.id)]


def _cut(asked: Asked, wheel: Wheel, sheet: Sheet) -> list[NewEntry]:
    count = whole_number(asked, "parts", least=0)
    if count > MOST_PARTS:
        raise EntryRefused("parts", f"At most {MOST_PARTS} parts can go on from one cut, got {count}.")
    rest = asked.text("rest")
    if count == 0 and not rest:
        raise EntryRefused("parts", "Say how many parts go on, or what became of all of it.")
    body = _said(
        kind="cut", parts=[_part(asked, number, sheet) for number in range(1, count + 1)], rest=rest,
        rest_g=weight_or_none(asked, "rest_g"), to_whom=asked.text("to_whom"), text=asked.text("text"),
    )  # fmt: skip
    return [sheet.entry(body, wheel.id, wheel_id=wheel.id)]


def _part(asked: Asked, number: int, sheet: Sheet) -> dict[str, Any]:
    name = f"part{number}_"
    share = asked.text(f"{name}share")
    return _said(
        wheel_id=seeded_id(sheet.seed, "part", str(number)), code=asked.text(f"{name}code"),
        weight_g=weight_or_none(asked, f"{name}weight"),
        share_pct=_measured(f"{name}share", lambda: parse(share, PERCENT, "%")) if share else None,
        face=asked.text(f"{name}face") or "bare", covering=asked.text(f"{name}covering"),
    )  # fmt: skip


def _measured(name: str, read: Callable[[], Any]) -> Any:
    try:
        return read()
    except EntryRefused as refused:
        raise of_field(name, refused) from refused


def _lifted(asked: Asked, wheel: Wheel, sheet: Sheet) -> list[NewEntry]:
    body = _said(
        kind="lifted", wheel_id=seeded_id(sheet.seed, "lifted"), pieces=whole_number(asked, "pieces"),
        code=asked.text("code"), weight_g=weight_or_none(asked, "weight"), text=asked.text("text"),
    )  # fmt: skip
    return [sheet.entry(body, wheel.id, wheel_id=wheel.id)]


def _counted(asked: Asked, wheel: Wheel, sheet: Sheet) -> list[NewEntry]:
    body = _said(kind="counted", pieces=whole_number(asked, "pieces", least=0), text=asked.text("text"))
    return [sheet.entry(body, wheel.id, wheel_id=wheel.id)]


def _ended(asked: Asked, wheel: Wheel, sheet: Sheet) -> list[NewEntry]:
    how = asked.text("how")
    if how not in ENDINGS:
        raise EntryRefused("how", "Say what became of it.")
    if how == "thrown" and not asked.text("reason"):
        raise EntryRefused("reason", "Say why it was thrown away; next time you will want to know.")
    body = _said(
        kind="ended", how=how, pieces=whole_number(asked, "pieces") if asked.text("pieces") else None,
        amount_g=weight_or_none(asked, "amount"), to_whom=asked.text("to_whom"), reason=asked.text("reason"),
        text=asked.text("text"),
    )  # fmt: skip
    return [sheet.entry(body, wheel.id, wheel_id=wheel.id)]


def sheet_texts(wheel: Wheel) -> dict[str, str]:
    """A wheel's sheet as its form shows it."""
    sheet = wheel.sheet
    sizes = {name: getattr(sheet, f"{name}_mm") for name in ("diameter", "height", "length")}
    return {
        "code": wheel.code, "style_id": wheel.style_id or "", "make_id": wheel.make_id or "",
        "made_on": wheel.made_on.isoformat() if wheel.made_on else "", "pieces": str(sheet.pieces),
        "shape": sheet.shape, "species": sheet.species or "", "heat": sheet.heat or "", "notes": sheet.notes,
        "additions": ", ".join(one.name for one in sheet.additions),
        **{name: f"{value:g} mm" if value else "" for name, value in sizes.items()},
    }  # fmt: skip


def _changed(asked: Asked, wheel: Wheel, sheet: Sheet) -> list[NewEntry]:
    """Only what the person changed: a sheet carries what was said, so two phones do not undo each other."""
    before = sheet_texts(wheel)
    changed = {name for name in before if name in asked.texts and asked.text(name) != before[name]}
    if not changed:
        raise EntryRefused("code", "Nothing was changed.")
    body: dict[str, Any] = {"kind": "wheel"}
    for name in sorted(changed):
        key, value = _sheet_field(asked, name)
        body[key] = value
    before_it: list[NewEntry] = []
    chosen = str(body.get("style_id") or "")
    style = fresh_style(chosen)
    if style is not None:
        body["style_id"] = seeded_id(sheet.seed, "style", chosen.removeprefix(FRESH))
        before_it = [sheet.entry(style, chosen, style_id=str(body["style_id"]))]
    return [*before_it, sheet.entry(body, wheel.id, wheel_id=wheel.id)]


def _sheet_field(asked: Asked, name: str) -> tuple[str, Any]:
    text = asked.text(name)
    if name in {"diameter", "height", "length"}:
        return f"{name}_mm", _measured(name, lambda: parse(text, LENGTH, "cm", name)) if text else None
    if name == "made_on":
        day = habits(asked.household, asked.now_at)
        return name, _measured(name, lambda: parse_day(text, day, field="made")).isoformat() if text else None
    if name == "pieces":
        return name, whole_number(asked, name)
    if name == "additions":
        return name, [{"name": part.strip()} for part in text.split(",") if part.strip()]
    if name in {"code", "notes", "shape"}:
        return name, text
    return name, text or None


Doing = Callable[[Asked, Wheel, Sheet], list[NewEntry]]
DOINGS: dict[str, tuple[str, str, Doing]] = {
    "covered": ("Cover", "Keep", _covered),
    "cut": ("Cut", "Cut", _cut),
    "lifted": ("Lift pieces out", "Lift out", _lifted),
    "counted": ("Count the pieces anew", "Keep", _counted),
    "ended": ("What became of", "Keep", _ended),
    "wheel": ("Change", "Keep", _changed),
}
"""By kind of entry: the heading, the button's word, and what makes entries of the form."""
