"""A reading store in memory, for tests that want to break one; it passes the store's contract."""

from collections.abc import Sequence

from collector.readings.model import Arrival, Reject, Stored


class MemoryStore:
    """Keeps readings by (probe, field, taken)."""

    def __init__(self) -> None:
        self.readings: dict[tuple[str, str, int], tuple[float, str]] = {}
        self.rejects: list[Reject] = []
        self._numbered: set[tuple[str, str, int]] = set()
        self._flights: list[tuple[str, bytes]] = []

    def add(self, arrivals: Sequence[Arrival | Reject]) -> Stored:
        kept = repeated = conflicts = 0
        for arrival in arrivals:
            if isinstance(arrival, Reject):
                self.rejects.append(arrival)
                continue
            if arrival.flight is not None:
                self._flights.append((arrival.topic, arrival.flight))
            if not self._is_fresh(arrival):
                continue
            for sample in arrival.samples:
                key, value = (arrival.probe, sample.field, sample.taken_ms), (sample.value, sample.unit)
                before = self.readings.get(key)
                kept += before is None
                repeated += before == value
                conflicts += before not in (None, value)
                self.readings[key] = value
        return Stored(kept, repeated, conflicts)

    def _is_fresh(self, arrival: Arrival) -> bool:
        if arrival.boot is None or arrival.seq is None:
            return True
        number = (arrival.probe, arrival.boot, arrival.seq)
        if number in self._numbered:
            return False
        self._numbered.add(number)
        return True

    def flights(self) -> list[tuple[str, bytes]]:
        return list(self._flights)

    def forget_flights(self) -> None:
        self._flights.clear()

    def close(self) -> None:
        pass
