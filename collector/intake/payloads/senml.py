"""SenML packs resolved: base values applied, times summed, wrong records set apart (RFC 8428).

Records come as the JSON parser makes them, labels as in RFC 8428 table 1. A wrong record costs only itself,
except where the text makes it cost more: a version above ours refuses the pack (section 4.4), and a base
field that cannot be read, or must be understood and is not, spoils the records that it applies to.
"""

from __future__ import annotations

import base64
import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

from collector.intake.payloads.wire_numbers import Unreadable, described, finite

VERSION = 10
RELATIVE_BELOW_S = 2**28  # section 4.5.3: a sum below it counts from now
BASES = frozenset({"bn", "bt", "bu", "bv", "bs", "bver"})
VALUES = ("v", "vs", "vb", "vd")
OTHER_VALUES = frozenset({"vs", "vb", "vd"})
REGULAR = frozenset({"n", "u", "s", "t", "ut", *VALUES})
LABELS = BASES | REGULAR
PLAIN = BASES | {"n", "u", "v"}


class ResolvedRecord(NamedTuple):
    """One record with its base values applied.

    `time_s` is None where neither a time nor a base time was given, which the RFC counts as 0, "now"; below
    2**28 it counts from now, else from 1970-01-01T00:00Z. The value is what v (float), vs (str), vb (bool)
    or vd (bytes) say; None for a record that has only a sum.
    """

    name: str
    unit: str | None = None
    time_s: float | None = None
    value: float | str | bool | bytes | None = None
    sum: float | None = None
    update_time_s: float | None = None
    own_name: str = ""  # the record's part of the name, "" when the base name is all of it


@dataclass(slots=True)
class _Bases:
    """The base fields in force; `spoilt` holds those that could not be read, each with why."""

    name: str = ""
    unit: str | None = None
    time_s: float | None = None
    value: float | None = None
    sum: float | None = None
    version: float | None = None
    spoilt: dict[str, str] = field(default_factory=dict)


class PackRefused(ValueError):
    """A pack that must not be used at all; the reason is the text."""


@dataclass(frozen=True, slots=True)
class Pack:
    """What a pack holds, in its own order, and (name or "record 3", reason) of what was refused."""

    records: tuple[ResolvedRecord, ...]
    refused: tuple[tuple[str, str], ...]


def resolve(records: Sequence[object]) -> list[ResolvedRecord]:
    """The records of a pack in resolved form and chronological order (RFC 8428 section 4.6).

    Args:
        records: the array as parsed. Relative times stay relative and come after the absolute ones.
    Raises:
        PackRefused: a version above 10 or more than one.
        Unreadable: any record that is wrong; `read_pack` sets such a record apart instead.
    """
    pack = read_pack(records)
    if pack.refused:
        raise Unreadable(": ".join(pack.refused[0]))
    return sorted(pack.records, key=_moment)


def _moment(record: ResolvedRecord) -> tuple[bool, float]:
    time_s = record.time_s or 0.0
    return (time_s < RELATIVE_BELOW_S, time_s)


def read_pack(records: Sequence[object]) -> Pack:
    """A pack resolved record by record, the wrong ones set apart.

    Raises:
        PackRefused: a version above 10 or more than one.
    """
    bases, kept, refused = _Bases(), [], []
    for number, record in enumerate(records, start=1):
        try:
            resolved = _resolved(record, bases)
        except Unreadable as wrong:
            refused.append((_name_for_refusal(record, bases) or f"record {number}", str(wrong)))
        else:
            if resolved is not None:
                kept.append(resolved)
    return Pack(tuple(kept), tuple(refused))


def _resolved(record: object, bases: _Bases) -> ResolvedRecord | None:
    """The record with its bases applied; None for one that only sets bases."""
    if not isinstance(record, dict):
        raise Unreadable(f"a record must be an object, got {described(record)}")
    if not record.keys() <= REGULAR:
        _take_bases(record, bases)
        if not record.keys() <= LABELS:
            _check_unknown(record, bases)
    if record.keys() <= PLAIN and (plain := _plain(record, bases)) is not None:
        return plain
    if bases.spoilt:
        raise Unreadable(next(iter(bases.spoilt.values())))
    if REGULAR.isdisjoint(record) and not BASES.isdisjoint(record):
        return None
    own_name = _text(record, "n", "") or ""
    value = _value(record, bases)
    total = _sum_of(record, "s", bases.sum)
    if value is None and total is None:
        raise Unreadable("must have a value or a sum")
    return ResolvedRecord(
        bases.name + own_name,
        _text(record, "u", bases.unit),
        _sum_of(record, "t", bases.time_s),
        value,
        total,
        _sum_of(record, "ut", None),
        own_name,
    )


def _plain(record: Mapping[str, object], bases: _Bases) -> ResolvedRecord | None:
    """The commonest record, a number with a name and perhaps a unit, without the steps that the others need; None for
    one that is not quite that."""
    name, unit, value = record.get("n"), record.get("u", bases.unit), record.get("v")
    if bases.spoilt or bases.value is not None or bases.sum is not None:
        return None
    if type(value) is not float or not math.isfinite(value) or type(name) is not str:
        return None
    if unit is not None and type(unit) is not str:
        return None
    return ResolvedRecord(bases.name + name, unit, bases.time_s, value, None, None, name)


def _value(record: Mapping[str, object], bases: _Bases) -> float | str | bool | bytes | None:
    if OTHER_VALUES.isdisjoint(record):
        return _sum_of(record, "v", bases.value) if "v" in record else None
    labels = [label for label in VALUES if label in record]
    if len(labels) > 1:
        raise Unreadable(f"must have one value, got {' and '.join(labels)}")
    if labels == ["vs"]:
        return _text(record, "vs", None)
    return _boolean(record) if labels == ["vb"] else _data(record)


def _sum_of(record: Mapping[str, object], label: str, base: float | None) -> float | None:
    """Base and own number added, a missing one counting as 0 (section 4.5.3 and 4.5.4); None without both."""
    if label not in record:
        return base
    try:
        own = finite(record[label])
        return own if base is None else finite(own + base)
    except Unreadable as wrong:
        raise Unreadable(f"{label} {wrong}") from wrong


def _text(record: Mapping[str, object], label: str, base: str | None) -> str | None:
    if label not in record:
        return base
    own = record[label]
    if not isinstance(own, str):
        raise Unreadable(f"{label} must be text, got {described(own)}")
    return own


def _boolean(record: Mapping[str, object]) -> bool:
    own = record["vb"]
    if not isinstance(own, bool):
        raise Unreadable(f"vb must be true or false, got {described(own)}")
    return own


def _data(record: Mapping[str, object]) -> bytes:
    """Bytes from CBOR as they are, text from JSON by base64url without padding (RFC 4648 section 5)."""
    own = record["vd"]
    if isinstance(own, bytes):
        return own
    text = (_text(record, "vd", None) or "").rstrip("=")
    try:
        return base64.b64decode(text + "=" * (-len(text) % 4), b"-_", validate=True)
    except ValueError as wrong:
        raise Unreadable("vd must be base64url text") from wrong


def _take_bases(record: Mapping[str, object], bases: _Bases) -> None:
    """Put a record's base fields in force. Raises PackRefused for a version that is not ours."""
    if "bver" in record:
        _take_version(record["bver"], bases)
    for label, attribute, read in _BASE_FIELDS:
        if label in record:
            try:
                setattr(bases, attribute, read(record, label, None))
                bases.spoilt.pop(label, None)
            except Unreadable as wrong:
                bases.spoilt[label] = str(wrong)


_BASE_FIELDS: tuple[tuple[str, str, Callable[..., object]], ...] = (
    ("bn", "name", _text),
    ("bt", "time_s", _sum_of),
    ("bu", "unit", _text),
    ("bv", "value", _sum_of),
    ("bs", "sum", _sum_of),
)


def _take_version(version: object, bases: _Bases) -> None:
    if not isinstance(version, (int, float)) or isinstance(version, bool) or version != version // 1 or version < 1:
        raise PackRefused(f"the SenML version must be a whole number, got {described(version)}")
    if version > VERSION:
        raise PackRefused(f"the SenML version must be at most {VERSION}, got {described(version)}")
    if bases.version not in (None, version):
        raise PackRefused("the records of a pack must have one SenML version, got several")
    bases.version = version


def _check_unknown(record: Mapping[object, object], bases: _Bases) -> None:
    """Unknown labels are passed over, unless they end in "_" and so must be understood (section 4.4)."""
    for label in record.keys() - LABELS:
        if isinstance(label, str) and label.endswith("_"):
            reason = f"the field {described(label)} must be understood and is not"
            if label.startswith("b"):  # a base field: it would apply to every record from here on
                bases.spoilt[label] = reason
            raise Unreadable(reason)


def _name_for_refusal(record: object, bases: _Bases) -> str:
    own = record.get("n") if isinstance(record, dict) else None
    return bases.name + own if isinstance(own, str) else ""
