"""What a payload says, once read: readings with the number, unit and time as sent.

Nothing here is converted, calibrated or judged; that happens on reading, so that a correction made today
mends what was stored last month.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal, NamedTuple

from jsonpointer import JsonPointer, JsonPointerException

from collector.quantities import QUANTITIES, can_be

TimeForm = Literal["s", "ms", "rfc3339"]


@dataclass(frozen=True, slots=True)
class WireTime:
    """When a reading was taken, as the message says it: absolute, relative to its arrival, or not said."""

    absolute_ms: int | None = None  # since 1970-01-01T00:00Z
    relative_ms: int | None = None  # 0 or less is before the arrival; at most a minute after it

    def __post_init__(self) -> None:
        if self.absolute_ms is not None and self.relative_ms is not None:
            raise ValueError("a reading's time is absolute or relative, got both")

    @classmethod
    def absolute(cls, ms: int) -> WireTime:
        """A time by the probe's own clock [ms since 1970-01-01T00:00Z]."""
        return cls(absolute_ms=ms)

    @classmethod
    def relative(cls, ms: int) -> WireTime:
        """A time counted from the message's arrival [ms], -5000 is five seconds before it."""
        return cls(relative_ms=ms)


UNTIMED = WireTime()


class WireReading(NamedTuple):
    """One number as sent. When `quantity` is set, `unit` is a code that `to_canonical` takes for it."""

    field: str
    value: float
    unit: str
    quantity: str | None
    time: WireTime


@dataclass(frozen=True, slots=True)
class ProbeStatus:
    """What a probe says of itself, or the broker in its name (the last will)."""

    state: Literal["online", "offline"]
    version: str | None = None
    uptime_s: float | None = None
    boot: str | None = None
    at_latest_every_s: float | None = None  # what a probe that reports on change promises
    fault: str | None = None  # what it found wrong with itself, in its own words
    refused: int = 0  # values it did not send since they cannot be
    dropped: int = 0  # readings it lost when its own memory was full


class Decoded(NamedTuple):
    """One message, understood as far as it could be; `refused` holds (field, reason) of what was not."""

    probe: str
    readings: tuple[WireReading, ...]
    refused: tuple[tuple[str, str], ...]
    boot: str | None
    seq: int | None
    status: ProbeStatus | None
    format: str
    at_the_latest: bool = False  # the probe says that its times are bounds: taken then or earlier


@dataclass(frozen=True, slots=True)
class FieldHint:
    """What a person said of one field; None leaves that to the guess."""

    quantity: str | None = None
    unit: str | None = None
    field: str | None = None  # the name to keep it under

    def __post_init__(self) -> None:
        if self.quantity is not None and self.quantity not in QUANTITIES:
            raise ValueError(f"quantity must be one of {', '.join(QUANTITIES)}, got {self.quantity}")
        if self.quantity and self.unit and not can_be(self.unit, self.quantity):
            raise ValueError(f"unit {self.unit!r} is not one of {self.quantity}")


@dataclass(frozen=True, slots=True)
class FieldHints:
    """A person's choices for one probe.

    `fields` is keyed by JSON Pointer (RFC 6901) for JSON objects, by the field's name for the other formats.
    With `others` off, what nobody pointed at is left out. Raises ValueError for a pointer that is none.
    """

    fields: Mapping[str, FieldHint] = field(default_factory=dict)
    time_pointer: str | None = None
    time_form: TimeForm | None = None
    others: bool = True

    def __post_init__(self) -> None:
        pointers = [key for key in self.fields if key.startswith("/")]
        for pointer in [*pointers, *([self.time_pointer] if self.time_pointer is not None else [])]:
            if not pointer.startswith("/"):
                raise ValueError(f"{pointer!r} is no JSON Pointer to a field: it must start with /")
            try:
                JsonPointer(pointer)
            except JsonPointerException as wrong:
                raise ValueError(f"{pointer!r} is no JSON Pointer: {wrong}") from wrong
