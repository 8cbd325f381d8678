"""The follower as a part of the collector."""

import os
import signal
import subprocess
import sys
from datetime import UTC, datetime
from pathlib import Path
from threading import Event

import pytest

from collector.clock import ManualClock, SystemClock
from collector.readings.follower import attached
from collector.readings.follower.apart import NICE
from collector.readings.follower.attached import AttachedFollower
from collector.readings.follower.settings import FollowerSettings
from collector.readings.rollups import follow
from collector.readings.store import SqliteReadings
from collector.vigilance.findings import SecondStore
from tests.brokers import wait_for
from tests.builders import START_AT, a_stretch_of, an_arrival
from tests.following import follower_settings
from tests.influx_stand_in import InfluxStandIn


def test_a_home_without_one_loads_nothing_of_it() -> None:
    program = "import sys, collector.collect; sys.exit(any(n.split('.')[0] in ('influxdb_client', 'reactivex')"
    program += " for n in sys.modules))"
    assert subprocess.run([sys.executable, "-c", program], check=False).returncode == 0


def test_its_process_loads_nothing_of_the_records() -> None:
    program = "import sys, collector.readings.follower.apart; sys.exit('sqlalchemy' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", program], check=False).returncode == 0


def test_it_copies_and_says_so(tmp_path: Path, stand_in: InfluxStandIn) -> None:
    store, stop = SqliteReadings(tmp_path / "readings.sqlite3"), Event()
    follower = AttachedFollower(follower_settings(tmp_path, stand_in.url, "caves"), store, SystemClock())
    store.add([an_arrival()])
    while follow(store):
        pass
    follower.start(stop)
    wait_for(lambda: follower.facts()["points"] > 1, what="copied")
    wait_for(lambda: follower.facts()["lag"] == 0, what="noted")
    facts = follower.facts()
    assert (facts["state"], facts["owed_spans"], facts["set_aside"]) == ("following", 0, 0)
    assert follower.places() == [1]
    stop.set()
    follower.join()
    follower.close()
    store.close()


def _children() -> list[int]:
    found = [path.read_text().split() for path in Path("/proc/self/task").glob("*/children")]
    return [int(pid) for pids in found for pid in pids]


def test_it_runs_apart_behind_everything_else_and_comes_again_when_killed(
    tmp_path: Path, stand_in: InfluxStandIn, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(attached, "AGAIN_S", 0.2)
    store, stop, before = SqliteReadings(tmp_path / "readings.sqlite3"), Event(), set(_children())
    follower = AttachedFollower(follower_settings(tmp_path, stand_in.url, "caves"), store, SystemClock())
    follower.start(stop)
    wait_for(lambda: follower.facts()["complete_at"] is not None, what="it follows")
    (child,) = set(_children()) - before
    assert os.getpriority(os.PRIO_PROCESS, child) >= min(19, os.getpriority(os.PRIO_PROCESS, 0) + NICE)
    os.kill(child, signal.SIGKILL)
    wait_for(lambda: follower.facts()["state"] == "away", what="its end is told")
    store.add([an_arrival()])
    while follow(store):
        pass
    wait_for(lambda: follower.facts()["points"] > 0, what="another one copies")
    assert follower.facts()["state"] == "following"
    stop.set()
    follower.join()
    follower.close()
    store.close()
    assert set(_children()) == before


def test_what_it_said_before_a_restart_holds_and_a_first_start_knows_nothing(
    tmp_path: Path, stand_in: InfluxStandIn
) -> None:
    store, clock = SqliteReadings(tmp_path / "readings.sqlite3"), ManualClock(START_AT)
    on = follower_settings(tmp_path, stand_in.url, "caves")
    said = {"complete_at": "2025-11-01T10:00:00+00:00", "began_at": "2025-10-01T10:00:00+00:00"}
    first = AttachedFollower(on, store, clock, said)
    assert first.second_store() == SecondStore("following", START_AT)
    first.close()
    second = AttachedFollower(on, store, clock, said)
    assert second.second_store() == SecondStore(
        "following", datetime(2025, 10, 1, 10, tzinfo=UTC), datetime(2025, 11, 1, 10, tzinfo=UTC)
    )
    second.close()
    assert AttachedFollower(FollowerSettings(), store, clock, said).second_store() is None
    store.close()


def test_how_long_catching_up_takes_is_told_by_the_pace_of_the_last_minutes(
    tmp_path: Path, stand_in: InfluxStandIn, monkeypatch: pytest.MonkeyPatch
) -> None:
    store = SqliteReadings(tmp_path / "readings.sqlite3")
    follower = AttachedFollower(follower_settings(tmp_path, stand_in.url, "caves"), store, SystemClock())
    at_s = 1_000.0
    monkeypatch.setattr("collector.readings.follower.attached.time.monotonic", lambda: at_s)
    assert follower._left_s(90_000) is None
    at_s += 30
    assert follower._left_s(60_000) == 60
    at_s += 30
    assert follower._left_s(80_000) is None  # more has come to be owed: the pace is taken anew
    at_s += 30
    assert follower._left_s(40_000) == 30
    assert follower._left_s(0) is None
    follower.close()
    store.close()


def test_turned_off_nothing_is_kept_for_it_and_turned_on_again_all_is_owed(
    tmp_path: Path, stand_in: InfluxStandIn
) -> None:
    store = SqliteReadings(tmp_path / "readings.sqlite3")
    on = follower_settings(tmp_path, stand_in.url, "caves")
    AttachedFollower(on, store, SystemClock()).close()
    store.add(a_stretch_of([12.0, 13.0]))
    while follow(store):
        pass
    off = AttachedFollower(FollowerSettings(), store, SystemClock())
    off.start(Event())
    off.join()
    off.close()
    assert off.places() == []
    again = AttachedFollower(on, store, SystemClock())
    assert again.facts()["owed_spans"] == 1
    again.close()
    store.close()
