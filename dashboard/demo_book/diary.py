"""What the invented keeper enters: ids and chance that come out the same at every start; pure."""

import uuid
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from hashlib import sha256
from typing import Any

import numpy as np

from collector.demo.noise import generator
from dashboard.wheels.entries import NewEntry
from dashboard.wheels.entry_kinds import AnyBody

_HIGH_BITS, _LOW_BITS = (1 << 12) - 1, (1 << 62) - 1
KEEPER, FRIEND = "the keeper", "the neighbour"


def dated_id(at: datetime, seed: int, *about: str) -> str:
    """A UUIDv7 (RFC 9562, section 5.7) of a moment whose random bits come from what it is about.

    Args:
        at: when [aware]. seed: of the world. about: what tells this entry from all others.
    """
    digest = int.from_bytes(sha256("\0".join((str(seed), at.isoformat(), *about)).encode()).digest()[:16])
    high, low = digest >> 62 & _HIGH_BITS, digest & _LOW_BITS
    ms = int(at.timestamp() * 1_000)
    return str(uuid.UUID(int=ms << 80 | 0x7 << 76 | high << 64 | 0x2 << 62 | low))


def day_at(day: date, hour: float) -> datetime:
    """A moment of a UTC day, to the minute."""
    return datetime(day.year, day.month, day.day, tzinfo=UTC) + timedelta(minutes=round(hour * 60))


@dataclass(slots=True)
class Diary:
    """Collects entries up to the demo's first start; what would lie after it is left out.

    Args:
        seed: of the world. until_at: the demo's first start.
    """

    seed: int
    until_at: datetime
    entries: list[NewEntry] = field(default_factory=list)

    def add(self, at: datetime, about: str, body: AnyBody, **refs: Any) -> str:
        """Enter something; returns its id, also when it lies ahead and is left out."""
        own_id = dated_id(at, self.seed, type(body).__name__, about)
        if at < self.until_at:
            self.entries.append(NewEntry(id=own_id, done_at=at, zone="UTC", typed_time=True, body=body, **refs))
        return own_id

    def photo_id(self, at: datetime, about: str) -> str:
        """The id of the picture that belongs to an entry."""
        return dated_id(at, self.seed, "photo", about)

    def chance(self, stream: str, index: int = 0) -> np.random.Generator:
        """Chance for one purpose, the same at every start."""
        return generator(self.seed, f"book/{stream}", index)
