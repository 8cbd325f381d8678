"""The page of how long readings are kept: what would go is shown, a second touch does it, nobody else may."""

from datetime import timedelta

import pytest
from fastapi.testclient import TestClient
from sqlalchemy import Engine

from collector.clock import ManualClock
from collector.keep_raw import chosen_d
from collector.readings.model import Arrival, Sample
from collector.readings.store import SqliteReadings
from collector.records.columns import to_ms
from collector.settings import Settings


@pytest.fixture
def old_readings(settings: Settings, clock: ManualClock) -> None:
    store = SqliteReadings(settings.readings_path)
    for day in range(400):
        at_ms = to_ms(clock.now() - timedelta(days=day))
        store.add([Arrival("p", "p", at_ms, (Sample("t", at_ms, 1.0, "Cel", None),))])
    store.close()


def chosen(engine: Engine) -> int:
    with engine.connect() as db:
        return chosen_d(db)


@pytest.mark.usefixtures("old_readings")
def test_what_would_go_is_shown_first_and_a_second_touch_does_it(owner: TestClient, engine: Engine) -> None:
    assert "kept for ever" in owner.get("/settings/keeping").text
    page = owner.post("/settings/keeping", data={"days": "366"}).text
    assert "<strong>23</strong> of 400 readings, from 6 February 2025" in page
    assert "cannot be undone" in page
    assert chosen(engine) == 0
    assert owner.post("/settings/keeping", data={"days": "366", "sure": "yes"}).status_code == 303
    assert chosen(engine) == 366
    assert "kept for one year" in owner.get("/settings/keeping").text
    assert owner.post("/settings/keeping", data={"days": "0"}).status_code == 303
    assert chosen(engine) == 0


def test_a_choice_that_there_is_not_is_refused(owner: TestClient, engine: Engine) -> None:
    assert owner.post("/settings/keeping", data={"days": "7", "sure": "yes"}).status_code == 422
    assert chosen(engine) == 0


def test_only_the_owner_chooses(visitor) -> None:  # type: ignore[no-untyped-def]
    assert visitor("helper").post("/settings/keeping", data={"days": "90", "sure": "yes"}).status_code == 403
