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


@pytest.mark.parametrize("every_s", [10, 60, 300])
def test_what_moved_within_a_step_is_there_calibrated_however_often_a_probe_spoke(
    store: SqliteReadings, every_s: int
) -> None:
    """Six hours of a cooler that runs every half hour: the humidity swings by eight points, told in parts of one."""
    at_s = np.arange(0, 6 * 3_600, every_s)
    wave = 0.85 + 0.04 * np.sin(2 * np.pi * at_s / 1_800)
    store.add(a_stretch_of([12.0] * len(at_s), every_min=every_s / 60))
    store.add(a_stretch_of(wave.tolist(), every_min=every_s / 60, field="humidity", unit="/"))
    follow(store)
    humidity = reader(store).air("cellar", START_MS, ms(6 * HOUR_MIN)).humidity_pct
    assert humidity.spread is not None
    whole = np.sqrt(np.mean(humidity.mean**2 + humidity.spread**2) - np.mean(humidity.mean) ** 2)
    assert 2 * np.sqrt(2) * whole == pytest.approx(8.0, rel=0.01)
