"""The payload formats: to add one, write its module and give it a row here."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from collector.errors import ReadingRejected
from collector.intake.payloads import json_object, plain_number, senml_pack, status
from collector.intake.payloads.decoded import Decoded, FieldHints
from collector.intake.payloads.envelope import Envelope, opened


@dataclass(frozen=True, slots=True)
class Format:
    """A format's name, and its reading of a message: None if the message is not of it."""

    name: str
    decode: Callable[[Envelope, FieldHints | None], Decoded | None]


# Asked in this order; the first that knows the message reads it.
FORMATS = (
    Format("status", status.decode),
    Format("senml_json", senml_pack.decode_json),
    Format("senml_cbor", senml_pack.decode_cbor),
    Format("json_object", json_object.decode),
    Format("plain_number", plain_number.decode),
)


def decode(topic: str, payload: bytes, hints: FieldHints | None = None) -> Decoded:
    """What a message says: the probe by its topic, its readings, and what was refused of it.

    Args:
        topic: as published. Pure: no clock, so times may be relative to the arrival.
        payload: any bytes.
        hints: a person's choices for this probe, if any.
    Raises:
        ReadingRejected: the message as a whole cannot be used. Nothing else is raised, whatever comes.
    """
    envelope = opened(topic, payload)
    for known in FORMATS:
        decoded = known.decode(envelope, hints)
        if decoded is not None:
            return decoded
    raise ReadingRejected(topic, "neither a SenML pack, nor JSON, nor a number with its quantity in the topic")
