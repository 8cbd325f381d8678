"""Plain JSON from any device: every number in it is offered, under its JSON Pointer (RFC 6901).

Quantity and unit are guessed from the name or chosen by a person; a time standing beside or above a number
is its time.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import islice

from jsonpointer import JsonPointer, JsonPointerException, escape

from collector.errors import ReadingRejected
from collector.intake.payloads.decoded import UNTIMED, Decoded, FieldHints, WireReading, WireTime
from collector.intake.payloads.envelope import RECORD_LIMIT, Envelope, json_of
from collector.intake.payloads.recognised import (
    FIELD_LIMIT,
    bounded,
    check_shown,
    hint_for,
    is_left_out,
    reading_of,
    shown,
    written_number,
)
from collector.intake.payloads.wire_numbers import Unreadable, described, finite
from collector.intake.payloads.wire_times import TIME_KEYS, time_or_note
from collector.quantity_words import guess_quantity

DEPTH_LIMIT = 6  # names in a pointer
LEAF_LIMIT = 4 * RECORD_LIMIT  # leaves looked at, numbers or not

# A value may have its unit beside it: {"temperature": {"value": 54, "unit": "F"}}.
UNIT_KEYS = ("unit", "units", "uom")
VALUE_KEYS = frozenset({"value", "val", "v", "reading"})


@dataclass(frozen=True, slots=True)
class Leaf:
    """One value that is no object and no list, with the time and unit that stand beside or above it."""

    pointer: str
    value: object
    unit: str
    time: WireTime


def decode(envelope: Envelope, hints: FieldHints | None) -> Decoded | None:
    """A JSON object, or a list that is no SenML, as readings; None if the first byte starts neither.

    Raises:
        ReadingRejected: not JSON, or no number in it at all.
    """
    if envelope.first not in b"{[":
        return None
    said = json_of(envelope)
    refused: list[tuple[str, str]] = []
    readings: list[WireReading] = []
    for leaf in islice(_leaves(said, hints, refused), LEAF_LIMIT):
        if is_left_out(hints, leaf.pointer):
            continue
        if len(readings) == RECORD_LIMIT:
            refused.append((shown(leaf.pointer), f"a message must hold at most {RECORD_LIMIT} numbers"))
            break
        try:
            reading = _reading(leaf, hints)
        except Unreadable as wrong:
            refused.append((shown(leaf.pointer), str(wrong)))
        else:
            readings += [reading] if reading is not None else []
    if not readings and not refused:
        raise ReadingRejected(envelope.topic, "there is no number in the JSON")
    return Decoded(envelope.probe, tuple(readings), bounded(refused), None, None, None, "json_object")


def _leaves(said: object, hints: FieldHints | None, refused: list[tuple[str, str]]) -> Iterator[Leaf]:
    """The leaves in their own order, then those that a person pointed at and the walk did not reach."""
    time, chosen_key = UNTIMED, None
    if hints is not None and hints.time_pointer is not None:
        chosen_key = hints.time_pointer
        time, note = time_or_note(_at(said, chosen_key), hints.time_form)
        refused += [(chosen_key, note)] if note else []
    met = set()
    for leaf in _walk(said, "", 0, time, chosen_key, refused):
        met.add(leaf.pointer)
        yield leaf
    for pointer in hints.fields if hints is not None else ():
        value = _at(said, pointer) if pointer.startswith("/") and pointer not in met else None
        if value is not None and not isinstance(value, (dict, list)):
            yield Leaf(pointer, value, "", time)


def _walk(
    said: object, pointer: str, depth: int, time: WireTime, chosen: str | None, refused: list[tuple[str, str]]
) -> Iterator[Leaf]:
    if depth == DEPTH_LIMIT and isinstance(said, (dict, list)):
        refused.append((shown(pointer), f"is nested deeper than {DEPTH_LIMIT} levels"))
        return
    named = said if isinstance(said, dict) else dict(enumerate(said)) if isinstance(said, list) else {}
    inner = {key: f"{pointer}/{escape(str(key))}" for key in named}
    times = {inner[key]: named[key] for key in named if _is_time(key, named[key], inner[key] == chosen)}
    if chosen is None and times:
        time = _time_beside(times, refused)
    unit = next((named[key] for key in UNIT_KEYS if isinstance(named.get(key), str)), "")
    for key, value in named.items():
        if isinstance(value, (dict, list)):
            yield from _walk(value, inner[key], depth + 1, time, chosen, refused)
        elif inner[key] not in times:
            yield Leaf(inner[key], value, unit if key in VALUE_KEYS else "", time)


def _is_time(key: object, value: object, is_chosen: bool) -> bool:
    is_leaf = not isinstance(value, (dict, list))
    return is_leaf and (is_chosen or (isinstance(key, str) and key.casefold() in TIME_KEYS))


def _time_beside(times: dict[str, object], refused: list[tuple[str, str]]) -> WireTime:
    """The first of the times that can be used; if none can, each is noted with why."""
    said = {pointer: time_or_note(value) for pointer, value in times.items()}
    usable = next((time for time, note in said.values() if not note), None)
    if usable is None:
        refused += [(shown(pointer), note) for pointer, (_, note) in said.items()]
    return usable or UNTIMED


def _at(said: object, pointer: str) -> object:
    """The value at a pointer, None where there is none."""
    try:
        return JsonPointer(pointer).resolve(said, None)
    except JsonPointerException:
        return None


def _reading(leaf: Leaf, hints: FieldHints | None) -> WireReading | None:
    """The leaf as a reading; None for text and switches that nobody took for one.

    Raises:
        Unreadable: a name that says it is a reading, or a number, and a value that cannot be one.
    """
    hint = hint_for(hints, leaf.pointer)
    is_number = isinstance(leaf.value, (int, float)) and not isinstance(leaf.value, bool)
    if not is_number and len(leaf.pointer) > FIELD_LIMIT:
        return None
    check_shown(leaf.pointer, leaf.unit)
    quantity = hint.quantity if hint is not None and hint.quantity else guess_quantity(leaf.pointer, leaf.unit)
    found = (finite(leaf.value), leaf.unit) if is_number else _written(leaf, quantity)
    if found is not None:
        return reading_of(leaf.pointer, found[0], found[1], leaf.time, hint)
    if hint is not None or (quantity is not None and _names_a_value(leaf.pointer)):
        raise Unreadable(f"must be a number, got {described(leaf.value)}")
    return None


def _names_a_value(pointer: str) -> bool:
    """Whether the innermost name itself says that a number belongs there; "/temperature/place" does not."""
    last = pointer.rpartition("/")[2]
    return last in VALUE_KEYS or guess_quantity(last) is not None


def _written(leaf: Leaf, quantity: str | None) -> tuple[float, str] | None:
    """The number and unit that a text or switch stands for."""
    if isinstance(leaf.value, bool):
        return (float(leaf.value), leaf.unit) if quantity == "door" else None
    if not isinstance(leaf.value, str):
        return None
    found = written_number(leaf.value, leaf.pointer, quantity)
    return (found[0], found[1] or leaf.unit) if found is not None else None
