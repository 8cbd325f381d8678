"""A house with a follower, for tests: a store, its rollups, and a database to copy to."""

import os
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from collector.clock import ManualClock
from collector.readings.follower.follow import Follower
from collector.readings.follower.ledger import Ledger
from collector.readings.follower.points import READING, TEN_MINUTES, named, question, tags
from collector.readings.follower.server import InfluxServer
from collector.readings.follower.settings import FollowerSettings
from collector.readings.follower.writing import StoreWriter
from collector.readings.model import Arrival, Channel
from collector.readings.reader import channels, units
from collector.readings.rollups import follow
from collector.readings.schema import open_reader
from collector.readings.store import SqliteReadings
from tests.builders import START_AT
from tests.influx_stand_in import ORG, TOKEN

LATE_MS = 4_102_444_800_000  # 2100
Points = dict[tuple[object, ...], tuple[object, ...]]


def follower_settings(
    folder: Path, url: str, bucket: str, org: str = ORG, token: str = TOKEN, **more: object
) -> FollowerSettings:
    """Settings with the token in a file, as they are in real use."""
    path = folder / "token"
    path.write_text(token + "\n")
    return FollowerSettings(influx_url=url, influx_org=org, influx_bucket=bucket, influx_token_file=path, **more)  # type: ignore[arg-type]


@dataclass
class House:
    """A store whose follower is stepped by the test."""

    store: SqliteReadings
    db: sqlite3.Connection
    ledger: Ledger
    server: InfluxServer
    follower: Follower
    clock: ManualClock
    settings: FollowerSettings

    def add(self, *arrivals: Arrival) -> None:
        self.store.add(arrivals)
        while follow(self.store):
            pass

    def follow_all(self) -> None:
        while self.follower.step():
            pass

    def ledger_is_paid(self) -> bool:
        """Whether nothing is left to copy; asked through a connection of its own, since a thread may use the other."""
        db = open_reader(self.store.path)
        try:
            ledger = Ledger(StoreWriter(self.store), db)
            return ledger.lag() == 0 and ledger.owed() is None
        finally:
            db.close()

    def channel(self, probe: str = "cellar-1", field: str = "temperature") -> Channel:
        return next(c for c in channels(self.db) if (c.probe, c.field) == (probe, field))

    def here(self) -> Points:
        """Everything that is kept here, as the follower's database should have it."""
        codes = units(self.db)
        names = {c.id: (named(c.probe), named(c.field)) for c in channels(self.db)}
        raw = self.db.execute("SELECT channel, taken_ms, value, unit, lag_ms, mark FROM reading").fetchall()
        steps = self.db.execute(
            "SELECT channel, start_ms, unit, count, low, high, mean, covered_ms, spread FROM rollup"
        )
        found: Points = {
            (READING, *names[c], "", at): (value, named(codes[unit]), lag, mark)
            for c, at, value, unit, lag, mark in raw
        }
        return found | {
            (TEN_MINUTES, *names[row[0]], named(codes[row[2]]), row[1]): tuple(row[3:]) for row in steps.fetchall()
        }

    def there(self) -> Points:
        """Everything that the follower's database answers for the channels that are known here."""
        found: Points = {}
        for channel in channels(self.db):
            own = tags(channel)
            for row in self._asked(READING, own):
                key = (READING, row["probe"], row["field"], "", _ms(row["_time"]))
                found[key] = (float(row["value"]), row["unit"], int(row["lag_ms"]), int(row["mark"]))
            for row in self._asked(TEN_MINUTES, own):
                key = (TEN_MINUTES, row["probe"], row["field"], row.get("unit", ""), _ms(row["_time"]))
                numbers = (float(row[name]) for name in ("low", "high", "mean"))
                found[key] = (int(row["count"]), *numbers, int(row["covered_ms"]), float(row["spread"]))
        return found

    def _asked(self, measurement: str, own: dict[str, str]) -> Iterator[dict[str, str]]:
        return self.server.rows(question(self.settings.influx_bucket, measurement, own, 0, LATE_MS))


def _ms(text: str) -> int:
    return int(np.datetime64(text.removesuffix("Z"), "ms").astype(np.int64))


@contextmanager
def a_house(folder: Path, settings: FollowerSettings, answer_ms: int = 2_000) -> Iterator[House]:
    store = SqliteReadings(folder / "readings.sqlite3")
    db = open_reader(store.path)
    clock, server = ManualClock(START_AT), InfluxServer(settings, answer_ms)
    ledger = Ledger(StoreWriter(store), db)
    ledger.begin()
    try:
        yield House(store, db, ledger, server, Follower(ledger, server, clock, share=1.0), clock, settings)
    finally:
        server.close()
        db.close()
        store.close()


def real_server() -> tuple[str, str, str, str] | None:
    """Address, organisation, bucket and token of a real database that tests may write to, if there is one."""
    names = ("URL", "ORG", "BUCKET", "TOKEN")
    found = [os.environ.get(f"RINDWATCH_TEST_INFLUX_{name}", "") for name in names]
    if any(found) and not all(found):
        missing = [f"RINDWATCH_TEST_INFLUX_{name}" for name, value in zip(names, found, strict=True) if not value]
        raise ValueError(f"a real database needs all four, {' and '.join(missing)} missing")
    return (found[0], found[1], found[2], found[3]) if all(found) else None
