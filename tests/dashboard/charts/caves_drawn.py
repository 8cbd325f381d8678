"""A cave with readings, for tests of charts."""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path

from collector.air.read import AirReader
from collector.readings.model import Arrival
from collector.readings.reader import Readings
from collector.readings.rollups import follow
from collector.readings.store import SqliteReadings
from collector.records.columns import to_ms
from collector.records.facts import Facts, Lead, Place, Placement, Target

SINCE = datetime(2024, 1, 1, tzinfo=UTC)
CAVE = "cellar"


def facts_of(*probes: str, site: str = "air", lead: str | None = None, targets: tuple[Target, ...] = ()) -> Facts:
    """A cellar with these probes in it since long ago."""
    placed = {(p, None): [Placement(p, SINCE, SINCE, p, site, CAVE)] for p in probes}
    leads = {CAVE: [Lead("l", SINCE, SINCE, CAVE, lead)]} if lead else {}
    return Facts({CAVE: Place(CAVE, "Cellar", "cave")}, {CAVE: list(targets)}, placed, leads)


def a_target(from_at: datetime = SINCE, **more: object) -> Target:
    return Target("t" + from_at.isoformat(), from_at, from_at, CAVE, **more)  # type: ignore[arg-type]


@contextmanager
def cave(folder: Path, arrivals: list[Arrival], facts: Facts) -> Iterator[AirReader]:
    """A reader of that cave's air."""
    folder.mkdir(exist_ok=True)
    store = SqliteReadings(folder / "r.sqlite3")
    store.add(arrivals)
    while follow(store):
        pass
    store.close()
    readings = Readings(folder / "r.sqlite3")
    yield AirReader(readings.db, facts)
    readings.close()


def ms(text: str) -> int:
    return to_ms(datetime.fromisoformat(text))
