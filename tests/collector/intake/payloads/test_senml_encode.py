"""Packs as our probes send them, read back."""

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collector.intake.payloads import PackRecord, decode, encode_senml
from collector.intake.payloads.senml import resolve

NUMBERS = st.floats(allow_nan=False, allow_infinity=False)
NAMES = st.from_regex(r"[A-Za-z0-9][A-Za-z0-9:._-]{0,20}", fullmatch=True).filter(
    lambda name: name not in ("boot", "seq")
)
UNITS = st.sampled_from(["Cel", "%RH", "Pa", "V", "A", "kg", ""])


def test_a_pack_is_compact_and_carries_its_bases_once():
    records = [PackRecord("temperature", 12.31, "Cel", 1764000000.5), PackRecord("humidity", 86.4, "%RH", 1763999995.5)]
    pack = encode_senml(records, base_name="cellar-1/", base_time_s=1764000000.5, boot="5f3a", seq=17)
    assert json.loads(pack) == [
        {"bn": "cellar-1/", "bt": 1764000000.5, "n": "temperature", "u": "Cel", "v": 12.31},
        {"n": "humidity", "u": "%RH", "v": 86.4, "t": -5.0},
        {"n": "boot", "vs": "5f3a"},
        {"n": "seq", "v": 17},
    ]
    assert b" " not in pack


@pytest.mark.parametrize("cbor", [False, True])
@given(
    values=st.lists(st.tuples(NAMES, NUMBERS, UNITS, st.integers(-86_400_000, 0)), min_size=1, max_size=6),
    base_ms=st.integers(268_435_456_000 + 86_400_000, 4_102_444_800_000),
    boot=st.one_of(st.none(), st.from_regex(r"[a-f0-9]{1,8}", fullmatch=True)),
    seq=st.one_of(st.none(), st.integers(0, 2**53 - 1)),
)
def test_what_is_encoded_is_decoded(cbor, values, base_ms, boot, seq):
    records = [PackRecord(name, value, unit, (base_ms + back_ms) / 1000) for name, value, unit, back_ms in values]
    pack = encode_senml(records, base_name="p/", base_time_s=base_ms / 1000, boot=boot, seq=seq, cbor=cbor)
    decoded = decode("rindwatch/p/readings", pack)
    assert (decoded.probe, decoded.boot, decoded.seq, decoded.refused) == ("p", boot, seq, ())
    assert [r.value for r in decoded.readings] == [value for _, value, _, _ in values]
    assert [r.time.absolute_ms for r in decoded.readings] == [base_ms + back_ms for *_, back_ms in values]


def test_relative_times_and_none_need_no_base():
    pack = encode_senml([PackRecord("a", 1.0, time_s=-30), PackRecord("b", True), PackRecord("c", "text")])
    assert [(r.name, r.time_s, r.value) for r in resolve(json.loads(pack))] == [
        ("a", -30, 1.0),
        ("b", None, True),
        ("c", None, "text"),
    ]


def test_refuses_what_no_pack_can_hold():
    with pytest.raises(ValueError, match="at least one record"):
        encode_senml([])
    with pytest.raises(ValueError, match="must be a finite number, got nan"):
        encode_senml([PackRecord("a", float("nan"))])
