"""Packs as our probes send them; the demo's probes and the tests use it."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass

import cbor2

from collector.intake.payloads.senml_pack import CBOR_LABELS
from collector.intake.payloads.wire_numbers import finite

_CBOR_NUMBERS = {label: number for number, label in CBOR_LABELS.items()}


@dataclass(frozen=True, slots=True)
class PackRecord:
    """One value to send: a number, a switch or a text, named without the base name."""

    name: str
    value: float | bool | str
    unit: str = ""
    time_s: float | None = None  # since 1970 where the pack has a base time, else from now (0 or less); None: as base


def encode_senml(
    records: Sequence[PackRecord],
    *,
    base_name: str = "",
    base_time_s: float | None = None,
    boot: str | None = None,
    seq: int | None = None,
    cbor: bool = False,
) -> bytes:
    """A SenML pack (RFC 8428), JSON or CBOR.

    Args:
        records: at least one, unless boot or seq is given.
        base_name: put before every name; for our topics `<probe>/`.
        base_time_s: seconds since 1970-01-01T00:00Z; times are written as differences to it, to the millisecond.
        boot, seq: the marks that tell a message sent twice from two messages.
    Raises:
        ValueError: no record, or a number that is not finite.
    """
    packed = [_packed(record, base_time_s) for record in records]
    packed += [{"n": "boot", "vs": boot}] if boot is not None else []
    packed += [{"n": "seq", "v": seq}] if seq is not None else []
    if not packed:
        raise ValueError("a pack must have at least one record")
    bases = {"bn": base_name, "bt": base_time_s}
    packed[0] = {label: base for label, base in bases.items() if base not in (None, "")} | packed[0]
    if cbor:
        return cbor2.dumps([{_CBOR_NUMBERS[label]: said for label, said in record.items()} for record in packed])
    return json.dumps(packed, separators=(",", ":"), allow_nan=False).encode()


def _packed(record: PackRecord, base_time_s: float | None) -> dict[str, object]:
    said: dict[str, object] = {"n": record.name}
    if record.unit:
        said["u"] = record.unit
    if record.time_s is not None and record.time_s != base_time_s:
        said["t"] = round(record.time_s - (base_time_s or 0), 3)
    if isinstance(record.value, bool):
        return said | {"vb": record.value}
    return said | ({"vs": record.value} if isinstance(record.value, str) else {"v": finite(record.value)})
