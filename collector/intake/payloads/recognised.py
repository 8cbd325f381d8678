"""A number under a name, turned into a reading: what it most likely is, unless a person said."""

from __future__ import annotations

from functools import lru_cache

from collector.intake.payloads.decoded import FieldHint, FieldHints, WireReading, WireTime
from collector.intake.payloads.wire_numbers import Unreadable, described, number_in, switch_in
from collector.quantities import QUANTITIES
from collector.quantity_words import guess_quantity, guess_unit, unit_code

FIELD_LIMIT = 200  # characters, of a name that is kept
UNIT_LIMIT = 24
REFUSED_LIMIT = 50  # kept of one message; a pack that is wrong throughout says the same thing each time


def reading_of(
    field: str, value: float, unit: str, time: WireTime, hint: FieldHint | None = None, name: str | None = None
) -> WireReading:
    """A reading under its name, with quantity and unit as said, else as guessed from name, unit and value.

    Args:
        field: as on the wire, for JSON its pointer. It is kept under `hint.field` if that is set.
        value: finite, as sent.
        unit: as sent, code or word; "" if none was.
        name: what tells the quantity, if the field itself does not.
    Raises:
        Unreadable: a name or unit that is too long or cannot be shown.
    """
    name = field if name is None else name
    check_shown(field, unit)
    quantity, code = guessed(name, unit) if hint is None else _chosen(name, unit, hint)
    if code is None and quantity is not None:
        code = guess_unit(name, quantity, value)
    kept_as = field if hint is None or not hint.field else hint.field
    return WireReading(kept_as, value, code or "", quantity, time)


@lru_cache(maxsize=4096)
def guessed(name: str, unit: str) -> tuple[str | None, str | None]:
    """Quantity and unit code; a code of None is for the value to decide."""
    quantity = guess_quantity(name, unit)
    if quantity is None:
        return None, unit
    return quantity, _code(name, unit, quantity)


def _chosen(name: str, unit: str, hint: FieldHint) -> tuple[str | None, str | None]:
    unit = hint.unit or unit
    quantity = hint.quantity or guess_quantity(name, unit)
    if quantity is None:
        return None, unit
    return quantity, _code(name, unit, quantity)


def _code(name: str, unit: str, quantity: str) -> str | None:
    if unit:
        return unit_code(unit, quantity)
    return guess_unit(name, quantity) if len(QUANTITIES[quantity].usual_units) == 1 else None


def written_number(text: str, name: str, quantity: str | None) -> tuple[float, str] | None:
    """The number and unit that a text stands for; None for text, and for a number with a unit that fits nothing.

    Args:
        text: as sent: "12,4", "54 °F"; of a door also "open" and "off".
        name: the field's, for what its unit tells.
        quantity: what the field is, if that is known.
    """
    found = (switch_in(text) if quantity == "door" else None) or number_in(text)
    if found is None or not found[1]:
        return found
    fits = unit_code(found[1], quantity) if quantity is not None else guess_quantity(name, found[1])
    return found if fits is not None else None


def check_shown(name: str, unit: str) -> None:
    """Refuse what no page could show and no store could keep: NUL, half a surrogate, a novel.

    Raises:
        Unreadable: with the reason.
    """
    if not name.isprintable() or len(name) > FIELD_LIMIT:
        raise Unreadable(f"a name must be at most {FIELD_LIMIT} characters that can be shown, got {described(name)}")
    if not unit.isprintable() or len(unit) > UNIT_LIMIT:
        raise Unreadable(f"a unit must be at most {UNIT_LIMIT} characters that can be shown, got {described(unit)}")


def hint_for(hints: FieldHints | None, name: str) -> FieldHint | None:
    """What a person said of this field, if anything."""
    return hints.fields.get(name) if hints is not None else None


def is_left_out(hints: FieldHints | None, name: str) -> bool:
    """Whether a person pointed at fields and wants no others, and this is another."""
    return hints is not None and not hints.others and name not in hints.fields


def shown(name: str) -> str:
    """A name for the list of what was refused, fit to be shown however hostile it is."""
    return name if name.isprintable() and len(name) <= FIELD_LIMIT else ascii(name[:FIELD_LIMIT])[1:-1][:FIELD_LIMIT]


def bounded(refused: list[tuple[str, str]]) -> tuple[tuple[str, str], ...]:
    """The first of what was refused, and how many more there were."""
    if len(refused) <= REFUSED_LIMIT:
        return tuple(refused)
    return (*refused[:REFUSED_LIMIT], ("", f"and {len(refused) - REFUSED_LIMIT} more"))
