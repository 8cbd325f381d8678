"""A small cave for tests: a place with a target and a probe, stores prepared, and a watch to step by hand."""

import sqlite3
from collections.abc import Sequence
from datetime import timedelta
from pathlib import Path

from sqlalchemy import Engine

from collector.clock import ManualClock
from collector.readings.model import Arrival
from collector.readings.rollups import follow
from collector.readings.schema import open_reader
from collector.readings.store import SqliteReadings
from collector.records.columns import new_id
from collector.records.engine import open_records
from collector.records.facts import Place, Placement, Target
from collector.records.migrate import migrate
from collector.records.places import add_fact, add_place
from collector.records.warnings import CaveWarning, warnings
from collector.watch import Found, Watch
from tests.builders import START_AT

LONG_BEFORE = START_AT - timedelta(days=60)


class Cave:
    """Everything that the watch works on, in one folder."""

    def __init__(self, folder: Path) -> None:
        self.store = SqliteReadings(folder / "readings.sqlite3")
        self.readings: sqlite3.Connection = open_reader(folder / "readings.sqlite3")
        self.records: Engine = open_records(f"sqlite:///{folder / 'records.sqlite3'}")
        migrate(self.records)
        self.clock = ManualClock(START_AT + timedelta(days=3))
        self.watch = Watch(self.readings, self.records, self.clock)
        self.place_id = new_id()
        with self.records.begin() as connection:
            add_place(connection, Place(self.place_id, "Cellar", "cave"))
            add_fact(connection, self.a_target())
            add_fact(connection, self.a_placement("cellar-1"))

    def a_target(self, **changes: object) -> Target:
        values: dict[str, object] = {
            "id": new_id(),
            "valid_from_at": LONG_BEFORE,
            "known_from_at": LONG_BEFORE,
            "place_id": self.place_id,
            "temperature_low_c": 10.0,
            "temperature_high_c": 14.0,
            "humidity_low_pct": 82.0,
            "humidity_high_pct": 92.0,
            "grace_min": 60,
        }
        return Target(**values | changes)  # type: ignore[arg-type]

    def a_placement(self, probe: str, **changes: object) -> Placement:
        values: dict[str, object] = {
            "id": new_id(),
            "valid_from_at": LONG_BEFORE,
            "known_from_at": LONG_BEFORE,
            "probe": probe,
            "site": "air",
            "place_id": self.place_id,
        }
        return Placement(**values | changes)  # type: ignore[arg-type]

    def add(self, fact: object) -> None:
        with self.records.begin() as connection:
            add_fact(connection, fact)  # type: ignore[arg-type]

    def take(self, arrivals: Sequence[Arrival]) -> Found:
        """Keep messages and judge what they changed."""
        self.store.add(arrivals)
        while follow(self.store):
            pass
        return self.watch.step()

    def warnings(self) -> list[CaveWarning]:
        with self.records.connect() as connection:
            return warnings(connection)

    def spells(self) -> list[tuple[object, ...]]:
        """What a person would see, without when it was found."""
        return sorted(
            (w.rule, w.place_id == self.place_id, w.probe or "", w.field or "", w.opened_at, str(w.cleared_at))
            for w in self.warnings()
        )

    def close(self) -> None:
        self.store.close()
        self.readings.close()
        self.records.dispose()
