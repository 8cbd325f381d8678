"""Status messages and last wills: what a probe says of itself on `rindwatch/<probe>/status`.

A small JSON object: {"state": "online", "version": "1.2.0", "uptime_s": 86400, "boot": "5f3a",
"signal_dbm": -61, "battery_pct": 87, "battery_v": 3.92, "at_latest_every_s": 900}; only `state` is needed,
"offline" is the last will.
"""

from __future__ import annotations

from collections.abc import Mapping

from collector.errors import ReadingRejected
from collector.intake.payloads.decoded import UNTIMED, Decoded, FieldHints, ProbeStatus, WireReading
from collector.intake.payloads.envelope import Envelope, json_of
from collector.intake.payloads.wire_numbers import Unreadable, described, finite

TEXT_LIMIT = 64  # characters
LATEST = "at_latest_every_s"
COUNT_LIMIT = 2**31
LONGEST_S = 7 * 86_400

# What in a status is a reading too: its key, and the field, quantity and unit it is kept under.
READINGS = (
    ("uptime_s", "uptime", "uptime", "s"),
    ("signal_dbm", "signal", "signal", "dBm"),
    ("battery_pct", "battery", "battery", "%EL"),
    ("battery_v", "battery_voltage", "battery_voltage", "V"),
)


def decode(envelope: Envelope, hints: FieldHints | None) -> Decoded | None:  # noqa: ARG001  # ours needs no hints
    """A status, or None for another topic.

    Raises:
        ReadingRejected: no JSON object, or a state that is neither online nor offline.
    """
    if envelope.own != "status":
        return None
    said = json_of(envelope)
    if not isinstance(said, dict):
        raise ReadingRejected(envelope.topic, f"a status must be a JSON object, got {described(said)}")
    state = said.get("state")
    if state not in ("online", "offline"):
        raise ReadingRejected(envelope.topic, f"state must be online or offline, got {described(state)}")
    refused: list[tuple[str, str]] = []
    readings = _readings(said, refused)
    uptime_s = next((reading.value for reading in readings if reading.field == "uptime"), None)
    boot, latest_s = _text(said, "boot", refused), _latest_s(said, refused)
    status = ProbeStatus(
        state,
        _text(said, "version", refused),
        uptime_s,
        boot,
        latest_s,
        _text(said, "fault", refused) if said.get("fault") else None,
        _count(said, "refused", refused),
        _count(said, "dropped", refused),
    )
    return Decoded(envelope.probe, readings, tuple(refused), status.boot, None, status, "status")


def _readings(said: Mapping[str, object], refused: list[tuple[str, str]]) -> tuple[WireReading, ...]:
    readings = []
    for key, field, quantity, unit in READINGS:
        if key not in said:
            continue
        try:
            readings.append(WireReading(field, finite(said[key]), unit, quantity, UNTIMED))
        except Unreadable as wrong:
            refused.append((key, str(wrong)))
    return tuple(readings)


def _latest_s(said: Mapping[str, object], refused: list[tuple[str, str]]) -> float | None:
    """The promise of a probe that reports on change: a value at the latest every so many seconds."""
    if LATEST not in said:
        return None
    try:
        latest_s = finite(said[LATEST])
    except Unreadable as wrong:
        refused.append((LATEST, str(wrong)))
        return None
    if not 1 <= latest_s <= LONGEST_S:
        refused.append((LATEST, f"must be 1 to {LONGEST_S} seconds, got {latest_s:g}"))
        return None
    return latest_s


def _count(said: Mapping[str, object], key: str, refused: list[tuple[str, str]]) -> int:
    """A number of things since the probe's start; 0 where it says none."""
    try:
        number = finite(said.get(key, 0))
    except Unreadable as wrong:
        refused.append((key, str(wrong)))
        return 0
    if not 0 <= number < COUNT_LIMIT:
        refused.append((key, f"must be 0 to {COUNT_LIMIT}, got {number:g}"))
        return 0
    return int(number)


def _text(said: Mapping[str, object], key: str, refused: list[tuple[str, str]]) -> str | None:
    text = said.get(key)
    if isinstance(text, str) and 0 < len(text) <= TEXT_LIMIT and text.isprintable():
        return text
    if key in said:
        refused.append((key, f"must be text of 1 to {TEXT_LIMIT} characters, got {described(text)}"))
    return None
