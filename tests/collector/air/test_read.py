"""The air of a place as it is read for rules and pages."""

from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import numpy as np
import pytest

from collector.air.model import Origin
from collector.air.read import AirReader
from collector.readings.rollups import follow
from collector.readings.store import SqliteReadings
from collector.records.facts import Facts, Place, Placement
from collector.rules.dew_margin import sweat_margin
from tests.builders import START_AT, START_MS, a_stretch_of, ms

HOUR_MIN = 60


@pytest.fixture
def store(tmp_path: Path) -> Iterator[SqliteReadings]:
    store = SqliteReadings(tmp_path / "r.sqlite3")
    yield store
    store.close()


def reader(store: SqliteReadings) -> AirReader:
    since = START_AT - timedelta(days=1)
    placed = Placement("1", since, since, "cellar-1", "air", "cellar")
    facts = Facts(places={"cellar": Place("cellar", "Cellar", "cave")}, placements={("cellar-1", None): [placed]})
    with store.transaction() as db:
        return AirReader(db, facts)


@pytest.mark.parametrize("impossible_c", [300.0, -127.0, 85.0])
def test_a_temperature_that_no_air_has_is_unknown_and_harms_nothing_behind_it(
    store: SqliteReadings, impossible_c: float
) -> None:
    values = [12.0] * HOUR_MIN + [impossible_c] * HOUR_MIN + [12.0] * HOUR_MIN
    store.add(a_stretch_of(values) + a_stretch_of([90.0] * len(values), field="humidity", unit="%RH"))
    follow(store)
    air = reader(store).air("cellar", START_MS, ms(3 * HOUR_MIN))
    assert np.isnan(air.temperature_c.mean[6:12]).all()
    assert (air.temperature_c.origin[6:12] == Origin.UNKNOWN).all()
    assert (air.temperature_c.mean[:6] == 12.0).all()
    assert np.isnan(sweat_margin(air).k[6:12]).all()
