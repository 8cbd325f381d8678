"""A store that counts what goes into it, for the metrics."""

import threading
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from collector.clock import Clock
from collector.readings.model import Arrival, Reject, Stored
from collector.readings.store import ReadingStore


@dataclass(frozen=True, slots=True)
class Tally:
    """What has been committed since this process began."""

    commits: int = 0
    kept: int = 0
    repeated: int = 0
    conflicts: int = 0
    last_at: datetime | None = None


class CountedStore:
    """Hands everything on to another store; the tally is read by other threads."""

    def __init__(self, store: ReadingStore, clock: Clock) -> None:
        self._store, self._clock = store, clock
        self._lock = threading.Lock()
        self._tally = Tally()

    @property
    def tally(self) -> Tally:
        with self._lock:
            return self._tally

    def add(self, arrivals: Sequence[Arrival | Reject]) -> Stored:
        stored = self._store.add(arrivals)
        with self._lock:
            t = self._tally
            self._tally = Tally(
                t.commits + 1, t.kept + stored.kept, t.repeated + stored.repeated, t.conflicts + stored.conflicts,
                self._clock.now(),
            )  # fmt: skip
        return stored

    def flights(self) -> list[tuple[str, bytes]]:
        return self._store.flights()

    def forget_flights(self) -> None:
        self._store.forget_flights()

    def close(self) -> None:
        self._store.close()
