"""The air of where a wheel was: place by place, unknown before and after."""

from datetime import timedelta
from pathlib import Path

import numpy as np

from collector.air.model import STEP_MS
from collector.readings.reader import Readings
from collector.readings.store import SqliteReadings
from collector.records.columns import from_ms
from collector.records.facts import Facts, Place
from dashboard.wheel_air import PlaceSpan, WheelAirReader, place_spans
from dashboard.wheels.stays import Stay

HOUR_MS = 3_600_000
START_MS = 1_767_225_600_000
FACTS = Facts(
    {
        "counter": Place("counter", "Counter", "counter", assumed_temperature_c=18.5, assumed_humidity_pct=60.0),
        "cellar": Place("cellar", "Cellar", "cave", assumed_temperature_c=11.0, assumed_humidity_pct=90.0),
    }
)


def stay(place_id: str, from_h: float, to_h: float | None, covering: str = "bare") -> Stay:
    begun = from_ms(START_MS)
    ended = None if to_h is None else begun + timedelta(hours=to_h)
    return Stay(begun + timedelta(hours=from_h), ended, place_id, covering=covering)


def test_each_stretch_has_the_air_of_its_place(tmp_path: Path) -> None:
    SqliteReadings(tmp_path / "r.sqlite3").close()
    readings = Readings(tmp_path / "r.sqlite3")
    stays = (stay("counter", 1, 3), stay("cellar", 3, 5))
    reader = WheelAirReader(readings.db, FACTS, {}, None, stays)
    air = reader.air("", START_MS, START_MS + 6 * HOUR_MS)
    readings.close()
    by_hour = air.temperature_c.mean.reshape(6, -1)
    assert np.isnan(by_hour[[0, 5]]).all()
    assert (by_hour[[1, 2]] == 18.5).all()
    assert (by_hour[[3, 4]] == 11.0).all()
    assert np.nanmax(air.humidity_pct.mean) == 90.0
    assert len(air) == 6 * HOUR_MS // STEP_MS


def test_a_new_covering_does_not_part_a_stretch_and_an_open_stay_reaches_to_the_end() -> None:
    stays = (stay("counter", 0, 2), stay("cellar", 2, 4), stay("cellar", 4, None, "cloth"))
    spans = place_spans(stays, START_MS + HOUR_MS, START_MS + 9 * HOUR_MS, FACTS)
    assert spans == [
        PlaceSpan("counter", START_MS + HOUR_MS, START_MS + 2 * HOUR_MS),
        PlaceSpan("cellar", START_MS + 2 * HOUR_MS, START_MS + 9 * HOUR_MS),
    ]


def test_a_place_that_is_not_known_has_no_air() -> None:
    assert place_spans((stay("gone", 0, None),), START_MS, START_MS + HOUR_MS, FACTS) == []
