"""Any message at all: decoded or rejected, nothing else, and in bounded time."""

import json
import time

import cbor2
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from collector.errors import ReadingRejected
from collector.intake.payloads import FORMATS, Decoded, FieldHint, FieldHints, decode
from collector.intake.payloads.senml_pack import CBOR_LABELS
from collector.quantities import QUANTITIES, to_canonical

TOPICS = st.one_of(
    st.sampled_from(["rindwatch/p/readings", "rindwatch/p/status", "cellar/shelf1/temperature", "cellar/door", "x"]),
    st.text(max_size=30),
)
HINTS = st.sampled_from(
    [
        None,
        FieldHints(
            fields={
                "/a": FieldHint("humidity"),
                "/a/0": FieldHint("door"),
                "a": FieldHint("weight", "g"),
                "/-": FieldHint(),
            },
            time_pointer="/t",
        ),
        FieldHints(
            fields={"": FieldHint(), "/v": FieldHint(field="x")}, time_pointer="/", time_form="ms", others=False
        ),
    ]
)
SCALARS = st.one_of(
    st.sampled_from(["p", "p/", "p:", "p/seq", "boot", "door", "Cel", "%RH"]),
    st.none(),
    st.booleans(),
    st.integers(),
    st.integers(-(2**64), 2**64 - 1),
    st.floats(),
    st.text(max_size=8),
    st.sampled_from(["12,4", "54 F", "open", "2026-01-05T12:00:00Z", "2026-01-05T12:00:00", 1e308, 10**320]),
)
KEYS = st.one_of(
    st.sampled_from([*CBOR_LABELS.values(), "x_", "b_", "time", "temperature", "door", "unit", "value", "a", "state"]),
    st.text(max_size=5),
)
ANYTHING = st.recursive(
    SCALARS, lambda inner: st.lists(inner, max_size=5) | st.dictionaries(KEYS, inner, max_size=6), max_leaves=20
)
CBOR_KEYS = st.one_of(st.integers(-7, 9), KEYS, st.floats(), st.binary(max_size=3))
CBOR_THING = st.recursive(
    SCALARS | st.binary(max_size=5) | st.decimals(allow_nan=True),
    lambda inner: st.lists(inner, max_size=5) | st.dictionaries(CBOR_KEYS, inner, max_size=6),
    max_leaves=20,
)


def decoded_or_rejected(topic, payload, hints=None):
    """The decoding, held to its promises; None if the message was rejected."""
    try:
        decoded = decode(topic, payload, hints)
    except ReadingRejected as rejected:
        decoded = rejected
    if isinstance(decoded, ReadingRejected):
        assert decoded.reason.isprintable()
        assert len(decoded.reason) < 300
        return None
    assert isinstance(decoded, Decoded)
    assert decoded.format in {row.name for row in FORMATS}
    assert decoded.probe.isprintable()
    assert decoded.probe
    for reading in decoded.readings:
        assert isinstance(reading.value, float)
        assert reading.value - reading.value == 0  # finite
        assert reading.field
        assert reading.field.encode()
        assert reading.time.absolute_ms is None or 0 <= reading.time.absolute_ms < 2**53
        assert reading.time.relative_ms is None or -(2**40) < reading.time.relative_ms <= 60_000
        if reading.quantity is not None:
            assert reading.quantity in QUANTITIES
            assert isinstance(to_canonical(reading.value, reading.unit, reading.quantity), float)
    for field, reason in decoded.refused:
        assert field or reason.startswith("and ")
        assert field.isprintable()
        assert reason.isprintable()
    return decoded


@given(TOPICS, st.binary(max_size=200), HINTS)
@example("x", b"\x9f\xff", None)
@example("x", b"[" * 5000, None)
def test_any_bytes_are_decoded_or_rejected(topic, payload, hints):
    decoded_or_rejected(topic, payload, hints)


@given(TOPICS, ANYTHING, HINTS)
@settings(max_examples=400)
def test_any_json_is_decoded_or_rejected(topic, said, hints):
    decoded_or_rejected(topic, json.dumps(said).encode(), hints)


@given(TOPICS, st.lists(st.dictionaries(KEYS, SCALARS, max_size=6), max_size=6), HINTS)
@settings(max_examples=400)
def test_any_list_of_records_is_decoded_or_rejected(topic, records, hints):
    decoded_or_rejected(topic, json.dumps(records).encode(), hints)


@given(TOPICS, st.lists(CBOR_THING, max_size=6), HINTS)
@settings(max_examples=400)
def test_any_cbor_is_decoded_or_rejected(topic, said, hints):
    decoded_or_rejected(topic, cbor2.dumps(said), hints)


@given(st.binary(max_size=100))
@settings(max_examples=400)
def test_any_bytes_after_a_cbor_array_head_are_decoded_or_rejected(rest):
    decoded_or_rejected("x", b"\x82" + rest)


@given(st.data(), st.sampled_from([False, True]))
def test_half_a_payload_is_rejected(data, cbor):
    records = [{"n": "a", "v": 1.5}, {"n": "b", "v": 2}]
    whole = cbor2.dumps([{0: "a", 2: 1.5}, {0: "b", 2: 2}]) if cbor else json.dumps(records).encode()
    cut = data.draw(st.integers(0, len(whole) - 1))
    assert decoded_or_rejected("rindwatch/p/readings", whole[:cut]) is None
    assert decoded_or_rejected("rindwatch/p/readings", whole + whole) is None


BIG = 262_144
HOSTILE = {
    "10 MB of zeros": b"0" * 10_000_000,
    "10 MB of brackets": b"[" * 10_000_000,
    "brackets": b"[" * BIG,
    "braces": b'{"a":' * (BIG // 5),
    "closed brackets": b"[" * (BIG // 2) + b"]" * (BIG // 2),
    "nested below the parser's limit": b'{"a":' * 900 + b"1" + b"}" * 900,
    "ones": b"[" + b"1," * (BIG // 2 - 1) + b"1]",
    "records": b"[" + b'{"v":1},' * 20_000 + b"{}]",
    "an object of ones": json.dumps({f"k{i}": 1 for i in range(15_000)}).encode(),
    "an object of long names": json.dumps({f"{'n' * 400}{i}": 1 for i in range(500)}).encode(),
    "an object of texts": json.dumps({f"k{i}": "x" for i in range(15_000)}).encode(),
    "an object of temperatures": json.dumps({f"temp{i}": "1" * 60 for i in range(3_000)}).encode(),
    "a long name": json.dumps([{"n": "n" * 200_000, "v": 1}]).encode(),
    "a long text": json.dumps({"temperature": "9" * 200_000}).encode(),
    "a long number": b'{"temperature":' + b"9" * 200_000 + b"}",
    "4,300 digits": b'[{"n":"a","v":' + b"9" * 4_300 + b"}]",
    "NUL": b"\x00" * BIG,
    "wrong UTF-8": b"\xff" * BIG,
    "markup": b'{"<script>alert(1)</script>": 1}',
    "CBOR arrays": b"\x81" * 65_000,
    "CBOR maps": b"\x81" + b"\xa1\x01" * 30_000,
    "CBOR of a thousand records": cbor2.dumps([{0: "a", 2: 1.5}] * 1000),
}


@pytest.mark.parametrize("name", HOSTILE)
@pytest.mark.parametrize("topic", ["rindwatch/p/readings", "rindwatch/p/status", "cellar/temperature"])
def test_hostile_payloads_are_over_soon(name, topic):
    # Not a speed claim (those stand in tests/bench): a fence against time that grows with the square.
    began = time.process_time()
    decoded_or_rejected(topic, HOSTILE[name])
    assert time.process_time() - began < 10


@pytest.mark.parametrize("topic", ["x" * 70_000, "\x00", "\ud800", "a/\u0085/b", ""])
def test_hostile_topics_are_rejected(topic):
    with pytest.raises(ReadingRejected):
        decode(topic, b"12")


def test_format_names_are_one_each():
    assert len({row.name for row in FORMATS}) == len(FORMATS)


def test_text_that_is_nothing_is_rejected_with_the_reason():
    with pytest.raises(ReadingRejected, match="neither a SenML pack, nor JSON, nor a number"):
        decode("cellar/temperature", b"hello")
