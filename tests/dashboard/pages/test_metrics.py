"""The house in numbers, read back with the reference parser of the format."""

from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

import pytest
from fastapi.testclient import TestClient
from prometheus_client.openmetrics.parser import text_string_to_metric_families
from sqlalchemy import Engine

from collector.clock import ManualClock
from collector.readings.counted import CountedStore
from collector.readings.rollups import follow
from collector.readings.store import SqliteReadings
from collector.records.life import sign
from collector.settings import Settings
from dashboard.people.person import Role
from dashboard.settings import DashboardSettings
from tests.builders import a_sample, an_arrival
from tests.dashboard.conftest import NOW_AT


def numbers(text: str) -> dict[str, float]:
    """Every sample by its name and labels."""
    return {
        sample.name + "".join(f"|{value}" for value in sample.labels.values()): sample.value
        for family in text_string_to_metric_families(text)
        for sample in family.samples
    }


@pytest.fixture
def dashboard_settings(tmp_path: Path) -> DashboardSettings:
    (tmp_path / "token").write_text("opens-metrics\n")
    return DashboardSettings(metrics_token_file=tmp_path / "token")


def test_before_anything_ran_it_still_answers(visitor: Callable[[Role], TestClient]) -> None:
    answer = visitor("guest").get("/metrics")
    assert answer.headers["content-type"].startswith("application/openmetrics-text")
    assert numbers(answer.text)["rindwatch_outbox_waiting"] == 0


def test_it_tells_what_was_counted(
    visitor: Callable[[Role], TestClient], settings: Settings, engine: Engine, clock: ManualClock
) -> None:
    store = SqliteReadings(settings.readings_path)
    counted = CountedStore(store, clock)
    counted.add([an_arrival(a_sample(0), a_sample(1)), an_arrival(a_sample(0))])
    follow(store)
    counted.add([an_arrival(a_sample(0, 13.0))])
    tally = counted.tally
    facts = {
        "broker": "connected", "waiting": 4, "refusing": False,
        "tally": {"kept": tally.kept, "repeated": tally.repeated, "conflicts": tally.conflicts,
                  "commits": tally.commits, "last_at": NOW_AT.isoformat()},
    }  # fmt: skip
    sign(engine, "collector", NOW_AT - timedelta(seconds=12), facts)
    found = numbers(visitor("guest").get("/metrics").text)
    store.close()
    assert found["rindwatch_messages_total"] == 3
    assert (found["rindwatch_readings_total|kept"], found["rindwatch_readings_total|repeated"]) == (2, 1)
    assert found["rindwatch_readings_total|conflicts"] == found["rindwatch_conflicts_total"] == 1
    assert (found["rindwatch_change_log_lag|rollups"], found["rindwatch_change_log_lag|watch"]) == (1, 2)
    assert found["rindwatch_collector_silent_seconds"] == 12
    assert (found["rindwatch_broker_connected"], found["rindwatch_intake_waiting"]) == (1, 4)
    assert found["rindwatch_last_commit_timestamp_seconds"] == NOW_AT.timestamp()
    assert "rindwatch_follower_following" not in found


def test_the_follower_is_told_where_there_is_one(visitor: Callable[[Role], TestClient], engine: Engine) -> None:
    facts = {"state": "following", "points": 900, "owed_spans": 2, "owed_ms": 7_200_000, "copied_at": None}
    sign(engine, "follower", NOW_AT, facts)
    found = numbers(visitor("guest").get("/metrics").text)
    assert (found["rindwatch_follower_following"], found["rindwatch_follower_owed_seconds"]) == (1, 7_200)
    sign(engine, "follower", NOW_AT - timedelta(minutes=5), facts)
    assert numbers(visitor("guest").get("/metrics").text)["rindwatch_follower_following"] == 0


@pytest.mark.parametrize("shown", ["", "Bearer ", "Bearer wrong", "Basic opens-metrics", "opens-metrics"])
def test_nobody_else_looks(visitor: Callable[[Role], TestClient], shown: str) -> None:
    answer = visitor("anyone").get("/metrics", headers={"Authorization": shown})
    assert answer.status_code == 401
    assert "rindwatch_" not in answer.text


def test_a_program_shows_the_token(visitor: Callable[[Role], TestClient]) -> None:
    answer = visitor("anyone").get("/metrics", headers={"Authorization": "Bearer opens-metrics"})
    assert answer.status_code == 200
    assert numbers(answer.text)


def test_no_name_of_a_probe_or_place_is_told(visitor: Callable[[Role], TestClient], settings: Settings) -> None:
    store = SqliteReadings(settings.readings_path)
    store.add([an_arrival(probe="the-brie-cupboard")])
    store.close()
    assert "brie" not in visitor("guest").get("/metrics").text
