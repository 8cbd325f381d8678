"""What is kept of the last day is what the readings say, whatever came in between."""

from collections.abc import Iterator
from datetime import timedelta

import numpy as np
import pytest
from sqlalchemy import Engine

from collector.air.read import AirReader
from collector.readings.reader import Readings
from collector.readings.rollups import follow
from collector.readings.store import SqliteReadings
from collector.records.columns import to_ms
from collector.records.engine import reading
from collector.records.places import load_facts
from collector.settings import Settings
from dashboard.last_day import LastDay, LastDays
from tests.dashboard.conftest import NOW_AT
from tests.dashboard.dairy import a_place, a_placement, keep
from tests.dashboard.places_seen import a_message, messages

NOW_MS = to_ms(NOW_AT)


class Cave:
    """One place, its store, and what is kept of it."""

    def __init__(self, settings: Settings, engine: Engine) -> None:
        self.settings, self.engine, self.kept = settings, engine, LastDays()
        with engine.begin() as db:
            self.place_id = a_place(db)
            a_placement(db, "p", self.place_id)
        keep(settings, messages("p"))
        self.readings = Readings(settings.readings_path)

    def day(
        self, now_ms: int = NOW_MS, revision: int = 1, kept: LastDays | None = None, doubted: bool = False
    ) -> LastDay:
        with reading(self.engine) as db:
            channels = self.readings.channels()
            doubts = {channels[0].id: [(NOW_MS - 7_200_000, NOW_MS + 1)]} if doubted else {}
            reader = AirReader(self.readings.db, load_facts(db), doubts, channels)
        return (kept or self.kept).of(reader, self.place_id, now_ms, revision)


@pytest.fixture
def cave(settings: Settings, engine: Engine) -> Iterator[Cave]:
    cave = Cave(settings, engine)
    yield cave
    cave.readings.close()


def test_nothing_new_is_not_read_again(cave: Cave) -> None:
    first = cave.day()
    assert cave.day() is first
    assert (first.hour_c, first.hour_pct) == (pytest.approx(12.0), pytest.approx(88.0))
    assert first.wheels is not None
    # Magnus' formula, WMO-No. 8, annex 4.B: a dew point of 10.07 degC.
    assert first.wheels.now_k == pytest.approx(1.93, abs=0.03)
    assert first.wall is None


@pytest.mark.parametrize("hours_ago", [0.01, 3, 23])
def test_a_reading_that_comes_is_seen_at_once_however_late(cave: Cave, hours_ago: float) -> None:
    before = cave.day()
    keep(cave.settings, [a_message("p", NOW_MS - int(hours_ago * 3_600_000), 15.0)])
    after = cave.day()
    assert after is not before
    assert np.nanmax(after.air.temperature_c.high) == 15.0
    np.testing.assert_array_equal(after.air.temperature_c.mean, cave.day(kept=LastDays()).air.temperature_c.mean)


def test_a_reading_counts_once_it_is_in_the_rollups(cave: Cave) -> None:
    before = cave.day()
    store = SqliteReadings(cave.settings.readings_path)
    store.add([a_message("p", NOW_MS - 1_000, 15.0)])
    assert cave.day() is before
    follow(store)
    store.close()
    assert np.nanmax(cave.day().air.temperature_c.high) == 15.0


def test_time_facts_and_doubts_end_what_is_kept(cave: Cave) -> None:
    first = cave.day()
    assert cave.day(now_ms=NOW_MS + 600_000) is not first
    first = cave.day()
    assert cave.day(revision=2) is not first
    first = cave.day()
    doubted = cave.day(doubted=True)
    assert doubted is not first
    assert np.isnan(doubted.air.humidity_pct.mean[-1]) or np.isnan(doubted.air.temperature_c.mean[-1])


def test_changes_that_were_forgotten_unseen_end_everything_that_is_kept(cave: Cave) -> None:
    before = cave.day()
    store = SqliteReadings(cave.settings.readings_path)
    store.add([a_message("p", NOW_MS - 1_000, 15.0)])
    follow(store)
    with store.transaction() as db:
        db.execute("DELETE FROM change")
    store.close()
    after = cave.day()
    assert after is not before
    assert np.nanmax(after.air.temperature_c.high) == 15.0


def test_days_of_places_that_nobody_asks_for_do_not_pile_up(cave: Cave, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("dashboard.last_day.MOST_PLACES", 1)
    first = cave.day()
    with cave.engine.begin() as db:
        other = a_place(db, "Other")
    with reading(cave.engine) as db:
        reader = AirReader(cave.readings.db, load_facts(db), {}, [])
    cave.kept.of(reader, other, NOW_MS, 1)
    assert cave.day() is not first


def test_a_place_where_nothing_is_known_has_an_empty_day(cave: Cave) -> None:
    with cave.engine.begin() as db:
        other = a_place(db, "Other")
    with reading(cave.engine) as db:
        reader = AirReader(cave.readings.db, load_facts(db), {}, [])
    found = cave.kept.of(reader, other, NOW_MS + int(timedelta(days=1).total_seconds() * 1000), 1)
    assert (found.hour_c, found.hour_pct, found.wheels, found.wall) == (None, None, None, None)
