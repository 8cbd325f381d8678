"""When a decoded message was measured: settles each reading's time, or says why it cannot be; pure."""

import json
import math
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime

from collector.intake.payloads import Decoded, WireReading
from collector.intake.redelivery import digest
from collector.readings.model import Arrival, Mark, ProbeState, Sample

EARLIEST_MS = 946_684_800_000  # 2000-01-01: our choice, no probe clock before it has ever been set
AHEAD_MS = 600_000  # our choice: a clock up to ten minutes ahead is believed, more is set aside


@dataclass(frozen=True, slots=True)
class Passage:
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
    for name, outcome in _timed(decoded, passage):
        if isinstance(outcome, Sample):
            samples.append(outcome)
        else:
            refused.append((name, outcome))
    return Arrival(
        probe=decoded.probe,
        topic=passage.topic,
        arrived_ms=passage.arrived_ms,
        samples=tuple(samples),
        refused=tuple(refused),
        boot=decoded.boot,
        seq=decoded.seq,
        state=_state(decoded),
        payload=passage.payload,
        flight=digest(passage.payload) if passage.acknowledged and not _known_again(decoded) else None,
    )


def _known_again(decoded: Decoded) -> bool:
    """True when the store keeps the message once by itself: by its numbering or by its times."""
    numbered = decoded.boot is not None and decoded.seq is not None
    return numbered or all(reading.time.absolute_ms is not None for reading in decoded.readings)


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


def _timed(decoded: Decoded, passage: Passage) -> Iterator[tuple[str, Sample | str]]:
    for reading in decoded.readings:
        if reading.time.absolute_ms is None and passage.retained:
            continue
        taken_ms, mark = _when(reading, passage)
        if decoded.at_the_latest:
            mark |= Mark.AT_THE_LATEST
        trouble = _impossible(reading, taken_ms, passage.arrived_ms)
        yield (
            reading.field,
            trouble or Sample(reading.field, taken_ms, reading.value, reading.unit, reading.quantity, mark),
        )


def _when(reading: WireReading, passage: Passage) -> tuple[int, Mark]:
    if reading.time.absolute_ms is not None:
        return reading.time.absolute_ms, Mark.NONE
    late = Mark.AT_THE_LATEST if passage.queued else Mark.NONE
    if reading.time.relative_ms is not None:
        return passage.arrived_ms + reading.time.relative_ms, late
    return passage.arrived_ms, Mark.TIME_OF_ARRIVAL | late


def _impossible(reading: WireReading, taken_ms: int, arrived_ms: int) -> str | None:
    if not math.isfinite(reading.value):
        return f"value must be a number, got {reading.value}"
    if taken_ms < EARLIEST_MS:
        return f"taken {_words(taken_ms)}, before 2000: the probe's clock is not set"
    if taken_ms > arrived_ms + AHEAD_MS:
        return f"taken {_words(taken_ms)}, {(taken_ms - arrived_ms) // 60_000} min after it arrived: the clock is ahead"
    return None


def _words(ms: int) -> str:
    if abs(ms) > 8_000_000_000_000:
        return f"{ms} ms after 1970"
    return datetime.fromtimestamp(ms / 1_000, UTC).strftime("%Y-%m-%d %H:%M UTC")
