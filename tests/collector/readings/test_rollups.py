"""Rollups are what raw readings say, whatever the order and the portions in which they came."""

from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from collector.readings.reader import rollups
from collector.readings.rollups import BUCKET_MS, follow
from collector.readings.store import SqliteReadings
from tests.builders import START_MS, a_sample, a_stretch_of, an_arrival, ms


def table(store: SqliteReadings) -> list[tuple[object, ...]]:
    with store.transaction() as db:
        return db.execute("SELECT * FROM rollup ORDER BY channel, start_ms, unit").fetchall()


def rolled(store: SqliteReadings) -> SqliteReadings:
    while follow(store, limit=7):
        pass
    return store


def test_a_bucket_holds_extremes_mean_and_covered_time(tmp_path: Path) -> None:
    store = SqliteReadings(tmp_path / "r.sqlite3")
    store.add(a_stretch_of([10, 12, 14, 12] * 5))
    rolled(store)
    with store.transaction() as db:
        found = rollups(db, 1, 0, ms(60))
    assert found.start_ms.tolist() == [START_MS, START_MS + BUCKET_MS, START_MS + 2 * BUCKET_MS]
    assert found.mean[:2].tolist() == [11.8, 12.2]
    assert (found.low[0], found.high[0], found.count[0], found.covered_ms[0]) == (10, 14, 10, BUCKET_MS)
    assert found.spread[:2] == pytest.approx([np.std([10, 12, 14, 12, 10, 12, 14, 12, 10, 12]), 1.4], abs=1e-9)
    assert found.covered_ms[2] == 2 * 60_000  # the last value is held for three intervals
    store.close()


def test_a_change_of_unit_is_kept_apart(tmp_path: Path) -> None:
    store = SqliteReadings(tmp_path / "r.sqlite3")
    store.add([an_arrival(a_sample(i, 12, unit="Cel")) for i in range(5)])
    store.add([an_arrival(a_sample(i, 54, unit="degF")) for i in range(5, 10)])
    rolled(store)
    assert [(row[2], row[6]) for row in table(store)][:2] == [(1, 12.0), (2, 54.0)]
    store.close()


@settings(max_examples=30, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.data())
def test_any_order_of_arrival_ends_in_the_same_rollups(
    data: st.DataObject, tmp_path_factory: pytest.TempPathFactory
) -> None:
    minutes = data.draw(st.lists(st.integers(0, 300), min_size=2, max_size=60, unique=True))
    values = np.round(10 + np.sin(np.array(minutes)), 3)
    arrivals = [an_arrival(a_sample(m, float(v))) for m, v in zip(minutes, values, strict=True)]
    shuffled = data.draw(st.permutations(arrivals))
    cuts = sorted(data.draw(st.lists(st.integers(0, len(arrivals)), max_size=5)))
    folder = tmp_path_factory.mktemp("order")
    straight, mixed = SqliteReadings(folder / "a.sqlite3"), SqliteReadings(folder / "b.sqlite3")
    straight.add(sorted(arrivals, key=lambda a: a.samples[0].taken_ms))
    for start, end in zip([0, *cuts], [*cuts, len(arrivals)], strict=True):
        mixed.add(shuffled[start:end])
        rolled(mixed)
    expected, found = table(rolled(straight)), table(rolled(mixed))
    straight.close()
    mixed.close()
    assert [row[:4] + row[7:8] for row in found] == [row[:4] + row[7:8] for row in expected]
    assert np.allclose([row[4:7] for row in found], [row[4:7] for row in expected])
    # A difference of squares: where nothing moved, rounding alone is left of it.
    assert np.allclose([row[8] for row in found], [row[8] for row in expected], atol=1e-6)
