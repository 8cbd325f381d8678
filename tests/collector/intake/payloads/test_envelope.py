"""The outside of a message. Limits are our own choice."""

import pytest

from collector.errors import ReadingRejected
from collector.intake.payloads.envelope import PAYLOAD_LIMIT, json_of, opened


def test_our_topics_name_the_probe():
    envelope = opened("rindwatch/cellar-1/readings", b"[]")
    assert (envelope.probe, envelope.own) == ("cellar-1", "readings")
    assert opened("rindwatch/cellar-1/status", b"{}").own == "status"


@pytest.mark.parametrize(
    "topic",
    ["rindwatch//readings", "rindwatch/a/b/readings", "rindwatch/a/Readings", "/rindwatch/a/readings", "x/a/readings"],
)
def test_any_other_topic_is_the_probe(topic):
    envelope = opened(topic, b"1")
    assert (envelope.probe, envelope.own) == (topic, "")


@pytest.mark.parametrize(
    ("topic", "payload", "reason"),
    [
        ("t", b"", "the message is empty"),
        ("t", b" \r\n", "the message is empty"),
        ("t", b"\xef\xbb\xbf", "the message is empty"),
        ("t", b"1" * (PAYLOAD_LIMIT + 1), "must be at most 262144 bytes, got 262145"),
        ("t" * 401, b"1", "topic must be at most 400 characters, got 401"),
        ("", b"1", "topic is empty"),
        ("a\x00b", b"1", "cannot be shown"),
        ("a\ud800", b"1", "cannot be shown"),
        ("a\u202eb", b"1", "cannot be shown"),
    ],
)
def test_a_message_whose_outside_is_wrong_is_rejected(topic, payload, reason):
    with pytest.raises(ReadingRejected, match=reason) as rejected:
        opened(topic, payload)
    assert rejected.value.topic == topic


def test_a_byte_order_mark_is_passed_over():
    envelope = opened("t", b"\xef\xbb\xbf [1]")
    assert envelope.first == ord("[")
    assert json_of(envelope) == [1]


@pytest.mark.parametrize(
    ("payload", "reason"),
    [
        (b"[" * 100_000, "nested too deeply"),
        (b'{"a":' * 40_000, "nested too deeply"),
        (b'{"a": 1', "not JSON: Expecting"),
        (b"[1][1]", "not JSON: Extra data"),
        (b"[" + b"9" * 5000 + b"]", "not JSON: Exceeds the limit"),
        (b'["\xff"]', "not UTF-8: byte 2 is wrong"),
    ],
)
def test_broken_json_is_rejected(payload, reason):
    with pytest.raises(ReadingRejected, match=reason):
        json_of(opened("t", payload))
