"""Numbers as they come on the wire: JSON and CBOR numbers, and text that people meant as one."""

from __future__ import annotations

import math
import re
from decimal import Decimal

_NUMBER = r"[-+]?(?:[0-9]+(?:[.,][0-9]*)?|[.,][0-9]+)(?:[eE][-+]?[0-9]{1,4})?"
_WITH_UNIT = re.compile(rf"\s*({_NUMBER})\s*([A-Za-z%°º℃℉][A-Za-z%°º℃℉. ]{{0,15}})?\s*", re.ASCII)
_TEXT_LIMIT = 64


class Unreadable(ValueError):
    """One record or field that cannot be read; the reason is shown beside its name."""


def finite(value: object) -> float:
    """A number of the wire as a float.

    Args:
        value: whatever the parser made of it; a CBOR decimal fraction comes as Decimal.
    Raises:
        Unreadable: no number (true is none), not finite, or beyond the range of a double.
    """
    kind = type(value)
    if kind is float and math.isfinite(value):  # type: ignore[arg-type]
        return value  # type: ignore[return-value]
    if kind is not float and kind is not int and kind is not Decimal:
        raise Unreadable(f"must be a number, got {described(value)}")
    try:
        number = float(value)  # type: ignore[arg-type]
    except (OverflowError, ValueError) as wrong:
        raise Unreadable(f"must be a number below 1.8e308, got {described(value)}") from wrong
    if not math.isfinite(number):
        raise Unreadable(f"must be a finite number, got {number}")
    return number


def number_in(text: str) -> tuple[float, str] | None:
    """The number and unit that a text is: "12,4" is (12.4, ""), "54 °F" is (54, "°F"); else None.

    A comma is a decimal comma. "1,234.5" is no number here, because nobody can tell which it means.
    """
    found = _WITH_UNIT.fullmatch(text) if len(text) <= _TEXT_LIMIT else None
    if found is None:
        return None
    number = float(found[1].replace(",", "."))
    return (number, (found[2] or "").strip()) if math.isfinite(number) else None


def described(value: object) -> str:
    """What a value is, short and fit to be shown, however hostile it is."""
    if isinstance(value, str):
        return f"text {value[:40]!a}"
    if isinstance(value, bool) or value is None:
        return {True: "true", False: "false", None: "nothing"}[value]
    if isinstance(value, int):
        return str(value) if value.bit_length() <= 64 else f"a whole number of {value.bit_length()} bits"
    if isinstance(value, float):
        return f"{value:g}"
    if isinstance(value, (list, tuple)):
        return "a list"
    return "an object" if isinstance(value, dict) else "something else"


# What a door says in words; on, off, true and false mean what the contact's own name makes of them.
_SWITCHES = {
    "open": (1.0, "open"),
    "opened": (1.0, "open"),
    "closed": (0.0, "open"),
    "close": (0.0, "open"),
    "shut": (0.0, "open"),
    "on": (1.0, ""),
    "off": (0.0, ""),
    "true": (1.0, ""),
    "false": (0.0, ""),
}


def switch_in(text: str) -> tuple[float, str] | None:
    """The 1 or 0 and the unit that a door's word is: "closed" is (0.0, "open"); else None."""
    return _SWITCHES.get(text.strip().lower()) if len(text) <= _TEXT_LIMIT else None
