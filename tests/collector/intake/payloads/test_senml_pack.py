"""SenML as messages: what is a pack, and what CBOR may not contain (RFC 8428 sections 5 and 6)."""

import struct
import time

import cbor2
import pytest

from collector.errors import ReadingRejected
from collector.intake.payloads import decode
from collector.intake.payloads.senml_pack import CBOR_LIMIT

OWN = "rindwatch/cellar-1/readings"


@pytest.mark.parametrize("payload", [b'[{"n":"a","v":1}]', b' \n[{"n":"a","v":1}]', b'\xef\xbb\xbf[{"n":"a","v":1}]'])
def test_an_array_of_records_is_senml_wherever_it_comes_from(payload):
    assert decode("anywhere", payload).format == "senml_json"


def test_cbor_is_told_by_its_first_byte():
    pack = cbor2.dumps([{0: "a", 2: 1.5}])
    for payload in (pack, b"\xd9\xd9\xf7" + pack, b"\x9f" + pack[1:] + b"\xff"):
        decoded = decode("anywhere", payload)
        assert decoded.format == "senml_cbor"
        assert decoded.readings[0].value == 1.5


@pytest.mark.parametrize(
    ("payload", "reason"),
    [
        (b"[]", "a pack must have 1 to 1000 records, got 0"),
        (b"[" + b'{"n":"a","v":1},' * 1000 + b"{}]", "got 1001"),
        (b'[{"bver":11,"n":"a","v":1}]', "SenML version must be at most 10, got 11"),
        (b"\x80", "got 0"),
        (cbor2.dumps([{-1: 11, 0: "a", 2: 1}]), "at most 10, got 11"),
        (cbor2.dumps([{0: "a", 2: 1}]) * 2, "7 bytes are left over"),
        (cbor2.dumps([{0: "a", 2: 1}])[:-1], "not CBOR as SenML has it"),
        (b"\x9b" + b"\xff" * 8, "not CBOR"),  # an array of 2^64 - 1
        (b"\x81\x7b\x00\x00\x0f" + b"\xff" * 5, "not CBOR"),  # a text of 2^44 bytes
        (b"\x81" * 60_000, "not CBOR"),
        (bytes.fromhex("d81c81d81d00"), "not UTF-8"),  # a list that holds itself, tags 28 and 29
        (bytes.fromhex("81d81d00"), "not CBOR"),
        (bytes.fromhex("81d823782028612b292b24") + b"(" * 28, "not CBOR"),  # a pattern, tag 35
        (bytes.fromhex("81a10282") + b"\xff", "not CBOR"),
        (bytes.fromhex("81a102c5821a7fffffff01"), "not CBOR"),  # 2 to the 2^31, tag 5
        (b"\x81\xa1\x02\xc2\x59\xff\xff" + b"\xff" * 0xFFFF, "must be at most 65536 bytes"),
        (b"\x81\xa1\x02\xc2\x59\xf0\x00" + b"\xff" * 0xF000, "not CBOR"),  # a number of 60 kB, tag 2
    ],
    ids=range(17),
)
def test_a_pack_that_must_not_be_used_is_rejected(payload, reason):
    with pytest.raises(ReadingRejected, match=reason):
        decode(OWN, payload)


def test_a_decimal_fraction_beyond_a_double_costs_only_itself():
    decoded = decode(OWN, bytes.fromhex("82 a2006161 02c4821a7fffffff01 a2006162 0201"))
    assert [r.field for r in decoded.readings] == ["b"]
    assert decoded.refused == (("a", "v must be a finite number, got inf"),)


def test_integers_beyond_a_double_cost_only_themselves():
    decoded = decode(OWN, b'[{"n":"a","v":1' + b"0" * 400 + b'},{"n":"b","v":1}]')
    assert [r.field for r in decoded.readings] == ["b"]
    assert decoded.refused == (("a", "v must be a number below 1.8e308, got a whole number of 1329 bits"),)


def test_keys_made_to_collide_are_bounded():
    # The hash of a tuple of two numbers can be computed and steered; this makes as many equal ones as fit.
    payload = b"\x81" + _colliding_map(3_000)
    assert len(payload) <= CBOR_LIMIT
    began = time.process_time()
    with pytest.raises(ReadingRejected):
        decode(OWN, payload[:-1])
    assert time.process_time() - began < 20


def _colliding_map(count):
    """A map of `count` two-number keys with one hash: CPython's tuple hash is xxHash with known constants."""
    mask, one, two, five = 2**64 - 1, 11400714785074694791, 14029467366897019727, 2870177450012600261
    inverse_two, rotate = pow(two, -1, 2**64), lambda x: ((x << 31) | (x >> 33)) & mask
    keys, first = [], 1
    while len(keys) < count:
        lane = (rotate((five + first * two) & mask) * one) & mask
        second = ((12345 - lane) * inverse_two) & mask
        if second < 2**61 - 1:
            keys.append((first, second))
        first += 1
    assert len({hash(key) for key in keys}) == 1
    body = b"".join(b"\x82" + struct.pack(">BIBQ", 0x1A, a, 0x1B, b) + b"\x00" for a, b in keys)
    return b"\xb9" + struct.pack(">H", count) + body
