"""Which number stands for which channel and unit; bounded, so that a probe gone mad cannot fill it."""

import sqlite3

from collector.readings.model import Arrival, Sample

MAX_PROBES = 2_000
MAX_CHANNELS_OF_A_PROBE = 100


class Registry:
    """Numbers of channels and units inside one database, remembered between commits.

    `forget` must follow a rollback: numbers given in it do not exist.
    """

    def __init__(self, db: sqlite3.Connection) -> None:
        self._db = db
        self.forget()

    def forget(self) -> None:
        self._units: dict[str, int] = dict(self._db.execute("SELECT code, id FROM unit"))
        self._channels: dict[tuple[str, str], int] = {
            (probe, name): number for number, probe, name in self._db.execute("SELECT id, probe, field FROM channel")
        }
        self._probes: set[str] = {row[0] for row in self._db.execute("SELECT name FROM probe")}
        self._fields: dict[str, int] = {}
        for probe, _ in self._channels:
            self._fields[probe] = self._fields.get(probe, 0) + 1

    def unit(self, code: str) -> int:
        number = self._units.get(code)
        if number is None:
            number = int(self._db.execute("INSERT INTO unit (code) VALUES (?)", (code,)).lastrowid or 0)
            self._units[code] = number
        return number

    def admits(self, probe: str) -> bool:
        """True when the probe is known or there is room for one more."""
        return probe in self._probes or len(self._probes) < MAX_PROBES

    def channel(self, arrival: Arrival, sample: Sample) -> int | None:
        """The channel's number, given at the first reading; None when the probe has too many fields."""
        key = (arrival.probe, sample.field)
        number = self._channels.get(key)
        if number is not None or self._fields.get(arrival.probe, 0) >= MAX_CHANNELS_OF_A_PROBE:
            return number
        row = (*key, sample.quantity, sample.unit, arrival.arrived_ms)
        cursor = self._db.execute(
            "INSERT INTO channel (probe, field, quantity, unit, first_ms) VALUES (?,?,?,?,?)", row
        )
        self._channels[key] = int(cursor.lastrowid or 0)
        self._fields[arrival.probe] = self._fields.get(arrival.probe, 0) + 1
        return self._channels[key]

    def heard(self, name: str, topic: str, first_ms: int, last_ms: int, messages: int) -> None:
        self._db.execute(
            "INSERT INTO probe (name, topic, first_ms, last_ms, messages) VALUES (?,?,?,?,?)"
            " ON CONFLICT (name) DO UPDATE SET topic=excluded.topic, last_ms=max(last_ms, excluded.last_ms),"
            " first_ms=min(first_ms, excluded.first_ms), messages=messages+excluded.messages",
            (name, topic, first_ms, last_ms, messages),
        )
        self._probes.add(name)
