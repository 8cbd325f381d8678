"""The follower as a part of the collector."""

import subprocess
import sys
from pathlib import Path
from threading import Event

from collector.clock import SystemClock
from collector.readings.follower.attached import AttachedFollower
from collector.readings.follower.settings import FollowerSettings
from collector.readings.rollups import follow
from collector.readings.store import SqliteReadings
from tests.brokers import wait_for
from tests.builders import a_stretch_of, an_arrival
from tests.following import follower_settings
from tests.influx_stand_in import InfluxStandIn


def test_a_home_without_one_loads_nothing_of_it() -> None:
    program = "import sys, collector.collect; sys.exit(any(n.split('.')[0] in ('influxdb_client', 'reactivex')"
    program += " for n in sys.modules))"
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
