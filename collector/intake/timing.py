"""When a decoded message was measured: settles each reading's time, or says why it cannot be; pure."""

import json
import math
from datetime import UTC, datetime
from typing import NamedTuple

from collector.intake.payloads import Decoded
from collector.intake.payloads.decoded import WireTime
from collector.intake.redelivery import digest
from collector.readings.model import Arrival, Mark, ProbeState, Sample

EARLIEST_MS = 946_684_800_000  # 2000-01-01: our choice, no probe clock before it has ever been set
AHEAD_MS = 600_000  # our choice: a clock up to ten minutes ahead is believed, more is set aside


class Passage(NamedTuple):
    """How a message came: when, whether the broker had kept it, and whether it waits to be acknowledged."""

    topic: str
    arrived_ms: int
    retained: bool = False
    queued: bool = False
    payload: bytes = b""
    acknowledged: bool = False


def arrival(decoded: Decoded, passage: Passage) -> Arrival:
    """A message with every reading's time settled.

    A retained message without a time of its own is an old acquaintance, not a new reading. A message that may have
    queued while we were away, and tells no absolute time, was measured at its arrival at the latest.
    """
    samples: list[Sample] = []
    refused = list(decoded.refused)
    for reading in decoded.readings:
        if reading.time.absolute_ms is None and passage.retained:
            continue
        taken_ms, mark = _when(reading.time, passage)
        if decoded.at_the_latest:
            mark |= Mark.AT_THE_LATEST
        trouble = _impossible(reading.value, taken_ms, passage.arrived_ms)
        if trouble is None:
            samples.append(Sample(reading.field, taken_ms, reading.value, reading.unit, reading.quantity, mark))
        else:
            refused.append((reading.field, trouble))
    return Arrival(
        decoded.probe,
        passage.topic,
        passage.arrived_ms,
        tuple(samples),
        tuple(refused),
        decoded.boot,
        decoded.seq,
        _state(decoded),
        passage.payload,
        digest(passage.payload) if passage.acknowledged and not _known_again(decoded) else None,
    )


def _known_again(decoded: Decoded) -> bool:
    """True when the store keeps the message once by itself: by its numbering or by its times."""
    numbered = decoded.boot is not None and decoded.seq is not None
    return numbered or None not in [reading.time.absolute_ms for reading in decoded.readings]


def _state(decoded: Decoded) -> ProbeState | None:
    status = decoded.status
    if status is None:
        return None
    facts = {
        "version": status.version,
        "uptime_s": status.uptime_s,
        "boot": status.boot,
        "fault": status.fault,
        "refused": status.refused,
        "dropped": status.dropped,
    }
    return ProbeState(status.state, status.at_latest_every_s, json.dumps(facts))


def _when(time: WireTime, passage: Passage) -> tuple[int, Mark]:
    if time.absolute_ms is not None:
        return time.absolute_ms, Mark.NONE
    late = Mark.AT_THE_LATEST if passage.queued else Mark.NONE
    if time.relative_ms is not None:
        return passage.arrived_ms + time.relative_ms, late
    return passage.arrived_ms, Mark.TIME_OF_ARRIVAL | late


def _impossible(value: float, taken_ms: int, arrived_ms: int) -> str | None:
    if not math.isfinite(value):
        return f"value must be a number, got {value}"
    if taken_ms < EARLIEST_MS:
        return f"taken {_words(taken_ms)}, before 2000: the probe's clock is not set"
    if taken_ms > arrived_ms + AHEAD_MS:
        return f"taken {_words(taken_ms)}, {(taken_ms - arrived_ms) // 60_000} min after it arrived: the clock is ahead"
    return None


def _words(ms: int) -> str:
    if abs(ms) > 8_000_000_000_000:
        return f"{ms} ms after 1970"
    return datetime.fromtimestamp(ms / 1_000, UTC).strftime("%Y-%m-%d %H:%M UTC")
