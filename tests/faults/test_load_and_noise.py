"""Slow commits, a broker that restarts, a probe gone mad, payloads of any kind: nothing handed over is lost."""

from pathlib import Path

import pytest

from collector.prepare import prepare
from collector.readings.store import SqliteReadings
from collector.settings import Settings
from tests.brokers import Broker, need_mosquitto
from tests.faults.arbitrary_payloads import arbitrary
from tests.faults.broker_restarted import SENT, restarted
from tests.faults.conftest import CollectorProcess
from tests.faults.mad_probe import mad
from tests.faults.outcome import held
from tests.faults.slow_store import slow_commits
from tests.faults.standing_still import stood_still

pytestmark = pytest.mark.timeout(300)


def test_commits_as_slow_as_on_a_tired_card_lose_nothing(broker: Broker) -> None:
    held(slow_commits(broker, commit_s=0.3, messages=1_500))


def test_a_probe_gone_mad_does_not_starve_the_others(broker: Broker, collector: CollectorProcess) -> None:
    held(mad(broker, collector, a_second=1_000, lasting_s=3))


def test_a_collector_that_stands_still_catches_up(broker: Broker, collector: CollectorProcess) -> None:
    held(stood_still(broker, collector, messages=500, times=5))


def test_payloads_of_any_kind_never_stop_intake(tmp_path: Path) -> None:
    store = SqliteReadings(tmp_path / "readings.sqlite3")
    held(arbitrary(store, 5_000))
    store.close()


@pytest.mark.parametrize("persists", [True, False])
def test_a_broker_that_restarts_forgets_no_more_than_it_says(tmp_path: Path, persists: bool) -> None:
    need_mosquitto()
    prepare(Settings(data=tmp_path))
    broker = Broker("mosquitto", tmp_path, persists=persists)
    broker.start()
    collector = CollectorProcess(broker)
    try:
        outcome = restarted(broker, collector, broker.stop, "restarted")
    finally:
        collector.stop()
        broker.stop()
    held(outcome)
    assert outcome.with_broker == (0 if persists else SENT)
