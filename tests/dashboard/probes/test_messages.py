"""Messages as they came, and what was understood of them; payloads are examples of SenML (RFC 8428) and plain JSON."""

import json

from hypothesis import given
from hypothesis import strategies as st

from collector.readings.store import MAX_KEPT_PAYLOAD
from dashboard.probes.choices import Choice
from dashboard.probes.messages import SHOWN_CHARACTERS, as_text, hints_of, message, not_understood
from tests.builders import START_AT, START_MS

TOPIC = "rindwatch/cellar-1/readings"


def test_each_number_is_told_with_what_it_was_taken_for() -> None:
    pack = b'[{"bn":"","bt":1772431200,"n":"temperature","u":"Cel","v":11.5},{"n":"humidity","u":"%RH","v":88}]'
    found = message(TOPIC, pack, START_MS, None)
    assert [(u.field, u.number, u.quantity, u.taken_at) for u in found.understood] == [
        ("temperature", "11.5 °C", "temperature", START_AT),
        ("humidity", "88 %", "humidity", START_AT),
    ]
    assert found.refused == ()


def test_a_person_says_where_the_time_stands() -> None:
    said = b'{"air": {"temperature": 11.5}, "made": 1772431200}'
    assert message("shed/air", said, START_MS, None).understood[0].time == "when it came; it tells no time"
    pointed = message("shed/air", said, START_MS, hints_of(Choice("shed/air", time_pointer="/made", time_form="s")))
    assert [u.taken_at for u in pointed.understood] == [START_AT]
    assert hints_of(Choice("shed/air")) is None


def test_what_is_not_understood_says_why() -> None:
    found = message("shed/air", b"hello", START_MS, None)
    assert found.understood == ()
    assert "neither a SenML pack" in found.refused[0][1]


def test_a_number_that_nobody_knows_is_shown_all_the_same() -> None:
    found = message("shed/air", b'{"illuminance": 417}', START_MS, None)
    assert [(u.number, u.quantity) for u in found.understood] == [("417", "nothing known")]


def test_of_a_long_message_only_the_beginning_is_kept() -> None:
    long = json.dumps({f"t{n}": n for n in range(2_000)}).encode()[:MAX_KEPT_PAYLOAD]
    found = message("shed/air", long, START_MS, None)
    assert found.refused == (("", "Only its beginning is kept, so it cannot be read again here."),)


def test_a_list_of_numbers_ends_somewhere() -> None:
    many = json.dumps({f"temperature_{n}": n for n in range(100)}).encode()
    found = message("shed/air", many, START_MS, None)
    assert (len(found.understood), found.more) == (30, 70)


def test_bytes_that_are_no_text_are_spelled() -> None:
    assert as_text(b"\xff\x00<b>\x1b[0m") == "\\xff\\x00<b>\\x1b[0m"


@given(st.binary(max_size=4_096))
def test_any_payload_can_be_shown(payload: bytes) -> None:
    text = as_text(payload)
    assert all(sign.isprintable() or sign in "\n\t" for sign in text)
    assert len(text) <= SHOWN_CHARACTERS + 2
    message("shed/air", payload, START_MS, None)


def test_a_reject_keeps_its_reason_and_count() -> None:
    found = not_understood([("a/\x00", "not JSON", b"{", START_MS, START_MS + 1_000, 7)])[0]
    assert (found.topic, found.reason, found.text, found.count) == ("a/\\x00", "not JSON", "{", 7)
