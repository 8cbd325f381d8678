"""SenML packs as messages, JSON or CBOR: the format of our own probes (RFC 8428 sections 5 and 6)."""

from __future__ import annotations

import io
from collections.abc import Callable
from typing import Any

import cbor2

from collector.errors import ReadingRejected
from collector.intake.payloads.decoded import Decoded, FieldHints
from collector.intake.payloads.envelope import RECORD_LIMIT, Envelope, json_of
from collector.intake.payloads.recognised import bounded, shown
from collector.intake.payloads.senml import PackRefused, read_pack
from collector.intake.payloads.senml_readings import PackReader

CBOR_LIMIT = 65_536  # bytes: CBOR keys can be crafted to collide, and this bounds what that costs to 0.3 s
CBOR_DEPTH = 8
CBOR_LABELS = {-1: "bver", -2: "bn", -3: "bt", -4: "bu", -5: "bv", -6: "bs"} | dict(
    enumerate(("n", "u", "v", "vs", "vb", "s", "t", "ut", "vd"))
)  # RFC 8428 table 4

_SELF_DESCRIBED = b"\xd9\xd9\xf7"  # RFC 8949 section 3.4.6
_TELLTALE = frozenset({"v", "vs", "vb", "vd", "bn", "bt", "bu", "bver"})


def decode_json(envelope: Envelope, hints: FieldHints | None) -> Decoded | None:
    """A JSON array as a SenML pack, or None if it is none.

    Raises:
        ReadingRejected: not JSON, more than 1,000 records, or a version that is not ours.
    """
    if envelope.first != ord("["):
        return None
    records = json_of(envelope)
    if not isinstance(records, list) or not (envelope.own or _looks_like_senml(records)):
        return None
    return _decoded(envelope, records, hints, "senml_json")


def decode_cbor(envelope: Envelope, hints: FieldHints | None) -> Decoded | None:
    """A CBOR array as a SenML pack, or None if the first byte starts no CBOR array.

    Raises:
        ReadingRejected: as for JSON, and CBOR that is broken, has bytes left over, or tags but 4.
    """
    payload = envelope.payload.removeprefix(_SELF_DESCRIBED)
    if not payload or not 0x80 <= payload[0] <= 0x9F:
        return None
    if len(payload) > CBOR_LIMIT:
        raise ReadingRejected(envelope.topic, f"a CBOR message must be at most {CBOR_LIMIT} bytes, got {len(payload)}")
    records = [_with_text_labels(record) for record in _from_cbor(envelope.topic, payload)]
    return _decoded(envelope, records, hints, "senml_cbor")


class _OnlyDecimalFractions(dict[int, Callable[..., Any]]):
    """RFC 8428 section 6 needs tag 4 alone; the others hold cycles, patterns and numbers of a megabyte."""

    def __missing__(self, tag: int) -> Callable[..., Any]:
        if tag == 4:
            raise KeyError(tag)  # the library's own way of reading it
        raise ValueError(f"tag {tag}")


def _from_cbor(topic: str, payload: bytes) -> list[object]:
    stream = io.BytesIO(payload)
    try:
        records = cbor2.CBORDecoder(stream, max_depth=CBOR_DEPTH, semantic_decoders=_OnlyDecimalFractions()).decode()
    except (cbor2.CBORError, ValueError, TypeError, OverflowError, RecursionError) as wrong:
        raise ReadingRejected(topic, f"not CBOR as SenML has it: {ascii(str(wrong))[1:121]}") from wrong
    if stream.tell() != len(payload):
        raise ReadingRejected(topic, f"{len(payload) - stream.tell()} bytes are left over after the pack")
    return list(records)


def _with_text_labels(record: object) -> object:
    if not isinstance(record, dict):
        return record
    named = {CBOR_LABELS.get(label, label) if type(label) is int else label: own for label, own in record.items()}
    return {label: own for label, own in named.items() if isinstance(label, str)}


def _looks_like_senml(records: list[Any]) -> bool:
    return any(isinstance(record, dict) and not _TELLTALE.isdisjoint(record) for record in records)


def _decoded(envelope: Envelope, records: list[Any], hints: FieldHints | None, form: str) -> Decoded:
    if not 0 < len(records) <= RECORD_LIMIT:
        raise ReadingRejected(envelope.topic, f"a pack must have 1 to {RECORD_LIMIT} records, got {len(records)}")
    try:
        pack = read_pack(records)
    except PackRefused as wrong:
        raise ReadingRejected(envelope.topic, str(wrong)) from wrong
    reader = PackReader(envelope.probe, hints)
    for record in pack.records:
        reader.take(record)
    refused = [*((shown(name), reason) for name, reason in pack.refused), *reader.refused]
    return Decoded(
        envelope.probe,
        tuple(reader.readings),
        bounded(refused),
        reader.boot,
        reader.seq,
        None,
        form,
        reader.at_the_latest,
    )
