"""Values that go into the readings store and come out of it."""

from dataclasses import dataclass, field
from enum import IntFlag
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

Millis = npt.NDArray[np.int64]
Values = npt.NDArray[np.float64]


class Mark(IntFlag):
    """What is known about the time and the way of a reading."""

    NONE = 0
    TIME_OF_ARRIVAL = 1  # the message told no time; its arrival stands in
    AT_THE_LATEST = 2  # it queued while we were away: taken then or earlier; left out of rules and integrals
    TYPED = 4
    IMPORTED = 8


class Sample(NamedTuple):
    """One value of one field of a probe, its time settled, as it was sent. A tuple: many are made a second.

    Args:
        field: the channel's name within its probe.
        taken_ms: when it was measured, ms since 1970 UTC.
        value: the number as sent.
        unit: the wire's unit code, "" when the message named none.
        quantity: what the payload says or lets guess, None when unknown.
    """

    field: str
    taken_ms: int
    value: float
    unit: str
    quantity: str | None
    mark: Mark = Mark.NONE


@dataclass(frozen=True, slots=True)
class ProbeState:
    """What a probe says of itself."""

    state: str
    at_latest_every_s: float | None = None
    facts: str = "{}"


class Arrival(NamedTuple):
    """One message, decoded and timed, ready to be kept.

    `flight` is the digest of a message that has neither a time of its own nor a number, and waits to be acknowledged:
    the only way to know it again when the broker hands it over twice.
    """

    probe: str
    topic: str
    arrived_ms: int
    samples: tuple[Sample, ...] = ()
    refused: tuple[tuple[str, str], ...] = ()
    boot: str | None = None
    seq: int | None = None
    state: ProbeState | None = None
    payload: bytes = b""
    flight: bytes | None = None


@dataclass(frozen=True, slots=True)
class Reject:
    """A message that could not be understood at all."""

    topic: str
    reason: str
    payload: bytes
    arrived_ms: int


@dataclass(frozen=True, slots=True)
class Stored:
    """What one commit did: readings new, sent again unchanged, and replaced by another value."""

    kept: int = 0
    repeated: int = 0
    conflicts: int = 0


@dataclass(frozen=True, slots=True)
class Channel:
    """One quantity from one probe, as the registry knows it."""

    id: int
    probe: str
    field: str
    quantity: str | None
    unit: str
    first_ms: int


@dataclass(frozen=True, slots=True)
class ProbeSeen:
    """When a probe was heard, and what it said last."""

    name: str
    topic: str
    first_ms: int
    last_ms: int
    messages: int
    state: str
    state_ms: int | None
    at_latest_every_s: float | None
    facts: str


@dataclass(frozen=True, slots=True)
class Change:
    """A span of a channel that has to be looked at again; channel None means every channel of the cause."""

    seq: int
    channel: int | None
    from_ms: int
    to_ms: int
    cause: str


@dataclass(frozen=True, slots=True)
class Series:
    """Raw readings of a channel in order of time, shape (n,) each; units[unit[i]] is the code of value i."""

    taken_ms: Millis
    value: Values
    unit: npt.NDArray[np.int64]
    mark: npt.NDArray[np.int64]
    units: dict[int, str] = field(default_factory=dict)

    def __len__(self) -> int:
        return len(self.taken_ms)


@dataclass(frozen=True, slots=True)
class Rollups:
    """Ten-minute rollups of a raw channel, shape (n,) each; start_ms is the bucket's beginning.

    Args:
        low, high, mean, spread: extremes, time-weighted mean and standard deviation of what was held in the bucket.
    """

    start_ms: Millis
    unit: npt.NDArray[np.int64]
    count: npt.NDArray[np.int64]
    low: Values
    high: Values
    mean: Values
    covered_ms: Millis
    spread: Values
    units: dict[int, str] = field(default_factory=dict)

    def __len__(self) -> int:
        return len(self.start_ms)
