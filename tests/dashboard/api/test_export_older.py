"""Pages and export show what is no longer kept here, read from the database that follows."""

from collections.abc import Callable, Iterator
from dataclasses import replace

import pytest
from fastapi.testclient import TestClient
from sqlalchemy import Engine

from collector.clock import ManualClock, SystemClock
from collector.readings.follower.follow import Follower
from collector.readings.follower.history import InfluxHistory
from collector.readings.follower.ledger import Ledger
from collector.readings.follower.server import InfluxServer
from collector.readings.follower.writing import StoreWriter
from collector.readings.schema import open_reader
from collector.readings.store import SqliteReadings
from collector.settings import Settings
from dashboard.app import Dashboard
from tests.dashboard.conftest import NOW_AT, signed_in
from tests.dashboard.dairy import keep
from tests.dashboard.places_seen import a_message
from tests.following import follower_settings
from tests.influx_stand_in import InfluxStandIn

HOUR_MS = 3_600_000
NOW_MS = round(NOW_AT.timestamp() * 1_000)

SPAN = {"from": "2026-03-01T00:00:00Z", "to": NOW_AT.isoformat()}


@pytest.fixture
def far(settings: Settings) -> Iterator[InfluxStandIn]:
    """A hundred hours of readings, all copied; only the newest ten hours are still here."""
    keep(settings, [a_message("cellar-1", NOW_MS - i * HOUR_MS, 12.0 + i / 10, 88.0) for i in range(100, 0, -1)])
    with InfluxStandIn().running() as stand_in:
        stand_in.make_bucket("caves")
        store, db = SqliteReadings(settings.readings_path), open_reader(settings.readings_path)
        own = follower_settings(settings.data, stand_in.url, "caves")
        follower = Follower(Ledger(StoreWriter(store), db), InfluxServer(own), SystemClock(), share=1.0)
        while follower.step():
            pass
        with store.transaction() as writing:
            writing.execute("DELETE FROM reading WHERE taken_ms<?", (NOW_MS - 10 * HOUR_MS,))
        db.close()
        store.close()
        yield stand_in


@pytest.fixture
def remembering(
    app: Dashboard, settings: Settings, engine: Engine, clock: ManualClock, far: InfluxStandIn
) -> Iterator[TestClient]:
    history = InfluxHistory(follower_settings(settings.data, far.url, "caves"))
    app.state.house = replace(app.state.house, older=history)
    with signed_in(app, engine, clock, "guest") as client:
        yield client


def test_an_export_goes_back_to_what_is_only_there(remembering: TestClient) -> None:
    lines = exported(remembering).splitlines()[1:]
    assert len(lines) == 100
    assert [line.split(",")[2] for line in (lines[0], lines[-1])] == ["22.0", "12.1"]


def test_an_export_that_would_have_a_hole_is_refused(remembering: TestClient, far: InfluxStandIn) -> None:
    far.buckets.clear()
    answer = remembering.get("/api/channels/1/readings.csv", params=SPAN)
    assert answer.status_code == 503
    assert "no longer kept on this machine" in answer.text
    assert "127.0.0.1" not in answer.text


def test_without_the_setting_it_shows_what_is_here(visitor: Callable[[str], TestClient], far: InfluxStandIn) -> None:
    assert len(exported(visitor("guest")).splitlines()) == 11
    assert not [path for _, path, _ in far.requests if path.endswith("/query")]


def exported(client: TestClient) -> str:
    return client.get("/api/channels/1/readings.csv", params=SPAN).text
