"""Lines of wheels that somebody already has, as the fields of a form to confirm, and back; pure."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date
from typing import Any

from collector.errors import EntryRefused
from dashboard.rounds.typed import Texts
from dashboard.wheels.existing import SURE, Found, Guess
from dashboard.wheels.kinds.coverings import BARE, COVERINGS
from dashboard.wheels.measures import parse_weight_g

PLAIN = ("code", "style_id", "place_id", "covering", "notes")
LONGEST = {"notes": 4_000}
FIELDS = (*PLAIN, "made_on", "weight_g", "pieces", "each", "diameter_mm")


def texts_of(found: Sequence[Found]) -> dict[str, str]:
    """The fields of a form, "code-0" for the first line's code; what was not said is blank."""
    return {f"{name}-{number}": _text(one, name) for number, one in enumerate(found) for name in FIELDS} | {
        f"line-{number}": one.line for number, one in enumerate(found)
    }


def _text(one: Found, name: str) -> str:
    guess = one.fields.get(name)
    if guess is None or guess.value is None:
        return ""
    if name == "weight_g":
        # A bare number had its unit from the heading of its column, which is not here to be read again.
        return guess.words if any(sign.isalpha() for sign in guess.words) else f"{guess.value:.10g} g"
    if name == "each":
        return "yes" if guess.value else ""
    return guess.value.isoformat() if isinstance(guess.value, date) else str(guess.value)


def found_in(texts: Texts, default_unit: str) -> list[Found]:
    """The wheels that a form says; a line whose "leave out" is marked is left out.

    Args:
        texts: fields as `texts_of` names them. default_unit: of a bare weight.
    Raises:
        EntryRefused: a field that cannot be read; named as the form names it.
    """
    found = []
    for number in range(sum(name.startswith("line-") for name in texts)):
        if not texts.get(f"out-{number}"):
            own = {name: texts.get(f"{name}-{number}", "").strip() for name in FIELDS}
            found.append(_found(own, texts.get(f"line-{number}", ""), number, default_unit))
    return found


def _found(own: Mapping[str, str], line: str, number: int, default_unit: str) -> Found:
    fields: dict[str, Any] = {name: own[name][: LONGEST.get(name, 120)] for name in PLAIN if own[name]}
    if own["covering"] and own["covering"] not in COVERINGS:
        raise EntryRefused(f"covering-{number}", "Choose one of the coverings.")
    if own["covering"] == BARE:
        del fields["covering"]
    readers = {"made_on": date.fromisoformat, "pieces": int, "diameter_mm": float, "each": bool}
    for name, reader in readers.items():
        if own[name]:
            fields[name] = _read(reader, own[name], f"{name}-{number}")
    if own["weight_g"]:
        fields["weight_g"] = _weight(own["weight_g"], default_unit, f"weight_g-{number}")
    guesses = {name: Guess(value, SURE, own[name]) for name, value in fields.items()}
    return replace(Found(line), fields=guesses)


def _read(reader: Any, text: str, field: str) -> Any:
    try:
        value = reader(text)
    except ValueError as wrong:
        raise EntryRefused(field, f"This cannot be read: {text[:20]}.") from wrong
    if isinstance(value, int | float) and not isinstance(value, bool) and not 1 <= value <= 10_000:
        raise EntryRefused(field, f"This must be from 1 to 10,000, got {text[:20]}.")
    return value


def _weight(text: str, default_unit: str, field: str) -> float:
    try:
        return parse_weight_g(text, default_unit)
    except EntryRefused as refused:
        raise EntryRefused(field, f"{refused}.") from refused
