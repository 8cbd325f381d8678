"""A bare number whose topic says what it is: `cellar/shelf1/temperature` with `12.4`, `12,4` or `54 F`."""

from __future__ import annotations

from collector.errors import ReadingRejected
from collector.intake.payloads.decoded import UNTIMED, Decoded, FieldHints
from collector.intake.payloads.envelope import Envelope, text_of
from collector.intake.payloads.recognised import hint_for, reading_of, written_number
from collector.intake.payloads.wire_numbers import Unreadable
from collector.quantity_words import guess_quantity

LONGEST = 64  # bytes; a longer message is no number


def decode(envelope: Envelope, hints: FieldHints | None) -> Decoded | None:
    """A number, or a door's word, as one reading; None if it is neither.

    The topic's last level is the field, and the rest the probe, where it names a quantity; else the whole
    topic is the probe and the field is "value".

    Raises:
        ReadingRejected: bytes that are not UTF-8, or a field that cannot be kept.
    """
    if len(envelope.payload) > LONGEST:
        return None
    probe, field, name = _place(envelope)
    hint = hint_for(hints, field)
    quantity = hint.quantity if hint is not None and hint.quantity else guess_quantity(name)
    found = written_number(text_of(envelope), name, quantity)
    if found is None:
        return None
    try:
        reading = reading_of(field, found[0], found[1], UNTIMED, hint, name)
    except Unreadable as wrong:
        raise ReadingRejected(envelope.topic, str(wrong)) from wrong
    return Decoded(probe, (reading,), (), None, None, None, "plain_number")


def _place(envelope: Envelope) -> tuple[str, str, str]:
    """Probe, field, and the name that tells what the field is."""
    rest, _, last = envelope.topic.rpartition("/")
    if envelope.own or guess_quantity(last) is None:
        return envelope.probe, "value", envelope.probe
    return rest or envelope.probe, last, last
