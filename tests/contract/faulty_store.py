"""A store that breaks at the nth commit, before or after it took effect."""

from collections.abc import Sequence

from collector.errors import StoreUnavailable
from collector.readings.model import Arrival, Reject, Stored
from collector.readings.store import ReadingStore


class FaultyStore:
    """Hands everything on to a real store, but for one commit."""

    def __init__(self, kept: ReadingStore, *, fail_at: int, when: str) -> None:
        self._kept, self._fail_at, self._when, self.commits = kept, fail_at, when, 0

    def add(self, arrivals: Sequence[Arrival | Reject]) -> Stored:
        self.commits += 1
        breaks = self.commits == self._fail_at
        if breaks and self._when == "before":
            raise StoreUnavailable("the store", len(arrivals))
        stored = self._kept.add(arrivals)
        if breaks:
            raise StoreUnavailable("the store", len(arrivals))
        return stored

    def flights(self) -> list[tuple[str, bytes]]:
        return self._kept.flights()

    def forget_flights(self) -> None:
        self._kept.forget_flights()

    def close(self) -> None:
        self._kept.close()
