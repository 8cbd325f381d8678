"""The last messages of a probe and what was understood of them, and those that could not be understood."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from collector.errors import ReadingRejected
from collector.intake.payloads import FieldHints, WireReading, WireTime, decode
from collector.readings.store import MAX_KEPT_PAYLOAD
from collector.records.columns import from_ms
from dashboard import words
from dashboard.amounts import quantity_word, unit_word
from dashboard.probes.choices import Choice

SHOWN_CHARACTERS = 1_200
MOST_FIELDS = 30


@dataclass(frozen=True, slots=True)
class Understood:
    """One number of a message: its field, the number as sent with its unit, what it was taken for.

    `taken_at` is the time that the message tells; None where it tells none, or only how long ago: then `time` says so.
    """

    field: str
    number: str
    quantity: str
    taken_at: datetime | None
    time: str


@dataclass(frozen=True, slots=True)
class Message:
    """A message as it came, fit to be shown, and what was understood of it.

    Args:
        refused: (field, reason) of what was not. more: how many numbers are not listed.
    """

    topic: str
    text: str
    arrived_at: datetime
    understood: tuple[Understood, ...]
    refused: tuple[tuple[str, str], ...]
    more: int
    format: str = ""


@dataclass(frozen=True, slots=True)
class NotUnderstood:
    """A kind of message that could not be understood: the newest of it, since when and how often."""

    topic: str
    reason: str
    text: str
    first_at: datetime
    last_at: datetime
    count: int


def message(topic: str, payload: bytes, arrived_ms: int, hints: FieldHints | None) -> Message:
    """A kept message, read again with the choices of today.

    Args:
        payload: its first 4,096 bytes; of a longer one nothing can be read. What came from an old log has none.
    """
    cut = len(payload) >= MAX_KEPT_PAYLOAD
    try:
        decoded = decode(topic, payload, hints)
    except ReadingRejected as rejected:
        reason = "Only its beginning is kept, so it cannot be read again here." if cut else rejected.reason
        return Message(topic, as_text(payload), from_ms(arrived_ms), (), (("", reason),), 0)
    numbers = tuple(_understood(one) for one in decoded.readings[:MOST_FIELDS])
    more = max(0, len(decoded.readings) - MOST_FIELDS)
    return Message(topic, as_text(payload), from_ms(arrived_ms), numbers, decoded.refused, more, decoded.format)


def _understood(one: WireReading) -> Understood:
    number = f"{one.value:.10g} {unit_word(one.unit)}".strip()
    taken_at = from_ms(one.time.absolute_ms) if one.time.absolute_ms is not None else None
    return Understood(one.field, number, quantity_word(one.quantity) or "nothing known", taken_at, _time(one.time))


def _time(time: WireTime) -> str:
    if time.relative_ms is not None:
        return f"{words.duration(time.relative_ms / 1_000)} before it came" if time.relative_ms else "when it came"
    return "when it came; it tells no time"


def as_text(payload: bytes) -> str:
    """A payload as text: what cannot be shown is spelled, and a long one is cut."""
    text = payload.decode("utf-8", "backslashreplace")
    shown = "".join(sign if sign.isprintable() or sign in "\n\t" else ascii(sign)[1:-1] for sign in text)
    return shown if len(shown) <= SHOWN_CHARACTERS else shown[:SHOWN_CHARACTERS] + " …"


def hints_of(choice: Choice) -> FieldHints | None:
    """A person's choice of where the time stands, as the intake takes it."""
    if not choice.time_pointer:
        return None
    return FieldHints(time_pointer=choice.time_pointer, time_form=choice.time_form or None)  # type: ignore[arg-type]


def not_understood(rows: Sequence[tuple[str, str, bytes, int, int, int]]) -> list[NotUnderstood]:
    """The list of rejects as it is shown, newest first."""
    return [
        NotUnderstood(as_text(topic.encode()), reason, as_text(payload), from_ms(first_ms), from_ms(last_ms), count)
        for topic, reason, payload, first_ms, last_ms, count in rows
    ]
