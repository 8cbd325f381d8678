"""A house whose probes speak over a real readings store, watched by the vigil, its messages kept."""

import sqlite3
from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from sqlalchemy import Engine, event, select

from collector.notify.known import load_known
from collector.readings.model import Arrival, Reject, Sample
from collector.readings.schema import open_reader
from collector.readings.store import SqliteReadings
from collector.records.columns import new_id, to_ms
from collector.records.engine import open_records
from collector.records.facts import Placement
from collector.records.places import add_fact
from collector.records.tables import warning
from collector.records.warnings import CaveWarning
from collector.vigil import Vigil
from collector.vigilance.disk import DiskUse
from collector.vigilance.findings import Handed
from tests.collector.notify.builders import NOON, House

LONG_BEFORE = NOON - timedelta(days=100)


class VigilHouse(House):
    """Steps the vigil and the delivery together; probes speak as told."""

    def __init__(self, records: Engine, folder: Path) -> None:
        super().__init__(records)
        self.store = SqliteReadings(folder / "readings.sqlite3")
        self.readings: sqlite3.Connection = open_reader(folder / "readings.sqlite3")
        self.disk = DiskUse(free=50_000_000_000, total=100_000_000_000)
        self.steady_s = 0.0
        self.handed = Handed(broker_connected=True, broker_since_at=LONG_BEFORE)
        self.copies_to: str | None = None
        self.speaking: dict[str, float] = {}  # probes that speak, and how often [min]
        self.warmth = 12.0
        self.vigil = self._new_vigil()

    def _new_vigil(self) -> Vigil:
        return Vigil(
            self.readings, self.records, self.clock, lambda: self.disk, lambda: self.copies_to, lambda: self.steady_s
        )

    def restart(self) -> None:
        """The collector ends and starts again."""
        self.vigil = self._new_vigil()
        self.handed = Handed(broker_connected=True, broker_since_at=self.now)

    def place(self, *names: str, place_id: str = "lower") -> None:
        with self.records.begin() as connection:
            for name in names:
                fact = Placement(new_id(), LONG_BEFORE, LONG_BEFORE, name, "air", place_id)
                add_fact(connection, fact)

    def speak(self, *names: str, at: datetime | None = None, taken_at: datetime | None = None, **odd: Any) -> None:
        """One message of each of these probes, a temperature."""
        arrived, taken = at or self.now, taken_at or at or self.now
        self.store.add([
            Arrival(name, f"rindwatch/{name}", to_ms(arrived), (
                Sample("temperature", to_ms(taken), odd.get("value", self.warmth), "Cel", "temperature"),
            ))
            for name in names
        ])  # fmt: skip

    def refuse(self, name: str, reason: str) -> None:
        self.store.add([Reject(f"rindwatch/{name}", reason, b"", to_ms(self.now))])

    def history(self, *names: str, every_min: float = 1, count: int = 60) -> None:
        """What probes said before now, at their usual interval."""
        for n in range(count, 0, -1):
            self.speak(*names, at=self.now - timedelta(minutes=every_min * n))

    def watch(self, minutes: float, step_min: float = 1) -> None:
        """Time goes by: probes that speak do, the vigil steps, messages go."""
        end = self.now + timedelta(minutes=minutes)
        while self.now < end:
            step = min(timedelta(minutes=step_min), end - self.now)
            before = self.now
            self.clock.advance(step)
            self.steady_s += step.total_seconds()
            for name, every in self.speaking.items():
                if int(self.now.timestamp() / 60 / every) != int(before.timestamp() / 60 / every):
                    self.speak(name)
            self.vigil.step(self.handed)
            self.deliver()

    def warnings(self, rule: str) -> list[CaveWarning]:
        with self.records.connect() as connection:
            rows = connection.execute(select(warning).where(warning.c.rule == rule).order_by(warning.c.opened_at))
            return [CaveWarning(**row._mapping) for row in rows]

    def open_rules(self) -> Sequence[str]:
        with self.records.connect() as connection:
            rows = connection.execute(select(warning.c.rule).where(warning.c.cleared_at.is_(None)))
            return sorted(rows.scalars())

    def known_places(self) -> dict[str, str]:
        with self.records.connect() as connection:
            return dict(load_known(connection, self.now).probe_places)


def opened(records_path: Path, folder: Path) -> Iterator[VigilHouse]:
    """A house for one test, closed after it."""
    engine = open_records(f"sqlite:///{records_path}")
    event.listen(engine, "connect", lambda db, _record: db.execute("PRAGMA synchronous=OFF"))  # only to be quicker
    own = VigilHouse(engine, folder)
    yield own
    own.readings.close()
    own.store.close()
    engine.dispose()
