"""A style and its care plan as a form shows them, and what was typed read back; pure. All counts in days of age."""

from collections.abc import Mapping
from typing import Any, get_args

from collector.errors import EntryRefused
from dashboard.household import Household
from dashboard.rounds.style_numbers import air_texts, air_typed, loss_texts, losses_typed
from dashboard.rounds.typed import Asked
from dashboard.wheels.bodies.sheets import Rind, StyleSheet

MOST_LINES, BLANK_LINES = 24, 2
LONGEST_D = 3_650
RINDS = {name: name for name in get_args(Rind)}
PARTS = ("care", "every", "from", "to")


def lines_shown(sheet: StyleSheet) -> int:
    """How many lines of a plan the form shows: those there are, and some to fill in."""
    return min(len(sheet.plan) + BLANK_LINES, MOST_LINES)


def texts_of(sheet: StyleSheet, household: Household) -> dict[str, str]:
    """A style as its form shows it; a line of its plan as "every-0"."""
    texts = {"name": sheet.name, "rind": sheet.rind}
    texts |= {"ripe_from": _day(sheet.ripe_from_d), "ripe_to": _day(sheet.ripe_to_d)}
    for number, line in enumerate(sheet.plan):
        values = (line.care, str(line.every_d), _day(line.from_d or None), _day(line.to_d))
        texts |= {f"{part}-{number}": text for part, text in zip(PARTS, values, strict=True)}
    return {**texts, **air_texts(sheet, household), **loss_texts(sheet.losses, household)}


def _day(value: int | None) -> str:
    return "" if value is None else str(value)


def changed(asked: Asked, sheet: StyleSheet, cares: Mapping[str, str]) -> dict[str, Any]:
    """What the form says otherwise than the style does, by the style's names.

    Args:
        asked: the form. sheet: the style as it is. cares: what a plan may ask for, as words by name.
    Raises:
        EntryRefused: a field that cannot be read; names the form's field.
    """
    said: dict[str, Any] = {"name": asked.text("name")[:120], "rind": asked.text("rind")}
    if not said["name"]:
        raise EntryRefused("name", "Give the style a name, like tomme.")
    if said["rind"] not in RINDS:
        raise EntryRefused("rind", "Choose one of the rinds.")
    said["plan"] = [line for number in range(MOST_LINES) if (line := _line(asked, number, cares))]
    said |= {"ripe_from_d": _days(asked, "ripe_from"), "ripe_to_d": _days(asked, "ripe_to")}
    if said["ripe_to_d"] is not None and said["ripe_to_d"] <= (said["ripe_from_d"] or 0):
        raise EntryRefused("ripe_to", f"It must end after it begins, got {said['ripe_to_d']} days.")
    said |= {**air_typed(asked, sheet), "losses": losses_typed(asked, sheet)}
    before = sheet.model_dump(mode="json")
    return {name: value for name, value in said.items() if _as_kept(value) != _as_kept(before[name])}


def _as_kept(value: Any) -> Any:
    """The lines of a plan and the sizes of wheels, each with what was left out because it is blank."""
    if not isinstance(value, list | tuple):
        return value
    return [{"from_d": 0, "to_d": None, "up_to_g": None, **line} for line in value]


def _line(asked: Asked, number: int, cares: Mapping[str, str]) -> dict[str, Any] | None:
    """One line of the plan; a line without a care or without its days is taken out."""
    care = asked.text(f"care-{number}")
    every_d = _days(asked, f"every-{number}")
    if not care or every_d is None:
        return None
    if care not in cares:
        raise EntryRefused(f"care-{number}", "Choose one of the cares.")
    from_d, to_d = _days(asked, f"from-{number}") or 0, _days(asked, f"to-{number}")
    if every_d < 1:
        raise EntryRefused(f"every-{number}", "Every so many days must be 1 or more, got 0.")
    if to_d is not None and to_d <= from_d:
        raise EntryRefused(f"to-{number}", f"It must end after it begins at {from_d} days, got {to_d}.")
    return {"care": care, "every_d": every_d, "from_d": from_d, **({} if to_d is None else {"to_d": to_d})}


def _days(asked: Asked, name: str) -> int | None:
    text = asked.text(name)
    if not text:
        return None
    if not (text.isascii() and text.isdigit()) or int(text) > LONGEST_D:
        raise EntryRefused(name, f"Give whole days, at most {LONGEST_D}, got {text[:20]}.")
    return int(text)
