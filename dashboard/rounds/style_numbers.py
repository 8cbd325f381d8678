"""The air that a style likes and what its wheels lose, as its form shows them and as they were typed; pure.

A field whose text was left as it stood keeps its value to the last digit, whatever unit it was shown in.
"""

from collections.abc import Mapping, Sequence
from typing import Any

from collector.errors import EntryRefused
from dashboard.forms import of_field
from dashboard.household import Household
from dashboard.places.target_form import LIMITS, check_order, limit_text, limit_typed
from dashboard.rounds.typed import Asked
from dashboard.wheels.bodies.sheets import LossLimit, StyleSheet
from dashboard.wheels.measures import PERCENT, parse, parse_weight_g
from dashboard.words import GRAMS_PER_OUNCE, OUNCES_PER_POUND

MOST_SIZES, BLANK_SIZES = 8, 1
SIZE_UNITS = {"kg": "kg", "lb": "lb"}


def sizes_shown(sheet: StyleSheet) -> int:
    """How many sizes of wheel the form shows: those there are, and one to fill in."""
    return min(len(sheet.losses) + BLANK_SIZES, MOST_SIZES)


def air_texts(sheet: StyleSheet, household: Household) -> dict[str, str]:
    """The air that a style likes, by the form's fields."""
    return {name: limit_text(name, getattr(sheet, name), household) for name in LIMITS}


def loss_texts(losses: Sequence[LossLimit], household: Household) -> dict[str, str]:
    """What wheels lose by size, by the form's fields: "size-0", "least-0", "most-0"."""
    texts: dict[str, str] = {}
    for number, row in enumerate(losses):
        size = "" if row.up_to_g is None else _size_text(row.up_to_g, household)
        texts |= {f"size-{number}": size, f"least-{number}": f"{row.low_pct:g}", f"most-{number}": f"{row.high_pct:g}"}
    return texts


def _size_text(up_to_g: float, household: Household) -> str:
    if household.weight_unit == "lb":
        return f"{up_to_g / (GRAMS_PER_OUNCE * OUNCES_PER_POUND):.2f}".rstrip("0").rstrip(".")
    return f"{up_to_g / 1_000:g}"


def air_typed(asked: Asked, sheet: StyleSheet) -> dict[str, Any]:
    """The air as it was typed, by the style's names; None for an open end.

    Raises:
        EntryRefused: an end that cannot be read or cannot be, or a low one that is not below its high one.
    """
    shown = air_texts(sheet, asked.household)
    found: dict[str, float | None] = {}
    for name in LIMITS:
        if name not in asked.texts or asked.text(name) == shown[name]:
            found[name] = getattr(sheet, name)
        else:
            found[name] = limit_typed(name, asked.text(name), asked.household)
    check_order(found, asked.texts)
    return found


def losses_typed(asked: Asked, sheet: StyleSheet) -> list[dict[str, Any]]:
    """What wheels lose by size as it was typed, small ones first; a row with nothing in it is taken out.

    Raises:
        EntryRefused: a row that cannot be read, whose most is below its least, or whose size another row has.
    """
    if "least-0" not in asked.texts:
        return [row.model_dump(mode="json", exclude_none=True) for row in sheet.losses]
    rows = [(number, row) for number in range(MOST_SIZES) if (row := _row(asked, number, sheet.losses))]
    sizes: dict[float | None, int] = {}
    for number, row in rows:
        size = row.get("up_to_g")
        if size in sizes:
            said = f"up to {asked.text(f'size-{number}')} {asked.household.weight_unit}" if size else "of any size"
            raise EntryRefused(f"size-{number}", f"Give each size once: two rows are for wheels {said}.")
        sizes[size] = number
    return [row for _, row in sorted(rows, key=lambda one: one[1].get("up_to_g", float("inf")))]


def _row(asked: Asked, number: int, before: Sequence[LossLimit]) -> dict[str, Any] | None:
    """One size of wheel and what it loses."""
    names = (f"size-{number}", f"least-{number}", f"most-{number}")
    size, least, most = (asked.text(name) for name in names)
    if not (size or least or most):
        return None
    for name, word in zip(names[1:], ("least", "most"), strict=True):
        if not asked.text(name):
            raise EntryRefused(name, f"Say the {word} that such a wheel loses, in % of its weight into the cave.")
    low_pct, high_pct = (_percent(asked.text(name), name) for name in names[1:])
    if high_pct < low_pct:
        raise EntryRefused(names[2], f"The most must be at least the least, {low_pct:g} %, got {high_pct:g} %.")
    limits: dict[str, Any] = {"low_pct": low_pct, "high_pct": high_pct}
    return {"up_to_g": _size_g(asked, names[0], before), **limits} if size else limits


def _percent(text: str, name: str) -> float:
    try:
        return parse(text, PERCENT, "%", "the loss")
    except EntryRefused as refused:
        raise of_field(name, refused) from refused


def _size_g(asked: Asked, name: str, before: Sequence[LossLimit]) -> float:
    """The size of a row [g]; a bare number is kilograms or pounds."""
    shown: Mapping[str, float] = {_size_text(r.up_to_g, asked.household): r.up_to_g for r in before if r.up_to_g}
    if asked.text(name) in shown:
        return shown[asked.text(name)]
    try:
        return parse_weight_g(asked.text(name), SIZE_UNITS[asked.household.weight_unit], "the size of a wheel")
    except EntryRefused as refused:
        raise of_field(name, refused) from refused
