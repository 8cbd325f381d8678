"""The outside of a message: its topic, its size, its first byte, and its JSON.

Our own topics are `rindwatch/<probe>/readings` and `rindwatch/<probe>/status`. The probe's name always
comes from the topic, never from the payload, because a broker guards topics and nothing else.
"""

from __future__ import annotations

import json
from typing import NamedTuple

from collector.errors import ReadingRejected

ROOT = "rindwatch"
OWN_TOPICS = ("readings", "status")

PAYLOAD_LIMIT = 262_144  # bytes; a pack of 1,000 full records is some 100,000
TOPIC_LIMIT = 400  # characters; our choice, MQTT allows 65,535 bytes
RECORD_LIMIT = 1_000  # records of a pack, or numbers in an object

_BOM = b"\xef\xbb\xbf"
_JSON = json.JSONDecoder()


class Envelope(NamedTuple):
    """A message whose outside is in order; `own` is "readings", "status", or "" for other people's topics."""

    topic: str
    payload: bytes
    probe: str
    own: str
    first: int  # the first byte that is no white space


def opened(topic: str, payload: bytes) -> Envelope:
    """The envelope of a message.

    Raises:
        ReadingRejected: a topic or payload that is empty, too long, or a topic with unprintable characters.
    """
    _check(topic, payload)
    if payload.startswith(_BOM):
        payload = payload[3:]
    inside = payload.lstrip()
    if not inside:
        raise ReadingRejected(topic, "the message is empty")
    levels = topic.split("/")
    if len(levels) == 3 and levels[0] == ROOT and levels[1] and levels[2] in OWN_TOPICS:
        return Envelope(topic, payload, levels[1], levels[2], inside[0])
    return Envelope(topic, payload, topic, "", inside[0])


def _check(topic: str, payload: bytes) -> None:
    if len(payload) > PAYLOAD_LIMIT:
        raise ReadingRejected(topic, f"the message must be at most {PAYLOAD_LIMIT} bytes, got {len(payload)}")
    if len(topic) > TOPIC_LIMIT:
        raise ReadingRejected(topic, f"the topic must be at most {TOPIC_LIMIT} characters, got {len(topic)}")
    if not topic or not topic.isprintable():
        raise ReadingRejected(topic, "the topic is empty or has characters that cannot be shown")


def text_of(envelope: Envelope) -> str:
    """The payload as text.

    Raises:
        ReadingRejected: bytes that are not UTF-8.
    """
    try:
        return envelope.payload.decode()
    except UnicodeDecodeError as wrong:
        raise ReadingRejected(envelope.topic, f"the text is not UTF-8: byte {wrong.start} is wrong") from wrong


def json_of(envelope: Envelope) -> object:
    """The payload as JSON. NaN and 1e999 come through as such: one bad number must not cost its neighbours.

    Raises:
        ReadingRejected: text that is not JSON, or nested too deeply.
    """
    text = text_of(envelope)
    try:
        return _JSON.decode(text)
    except RecursionError as wrong:
        raise ReadingRejected(envelope.topic, "the JSON is nested too deeply") from wrong
    except ValueError as wrong:
        raise ReadingRejected(envelope.topic, f"not JSON: {str(wrong)[:120]}") from wrong
