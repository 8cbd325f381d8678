"""What is no longer kept here, and what happens while it cannot be had."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from collector.errors import OlderUnavailable, SettingsWrong
from collector.readings.follower.history import InfluxHistory, far_history
from collector.readings.reader import Readings
from tests.brokers import free_port
from tests.builders import a_stretch_of, ms
from tests.following import House, follower_settings
from tests.influx_stand_in import InfluxStandIn

DAY = 1_440


@pytest.fixture
def readings(house: House, tmp_path: Path) -> Iterator[Readings]:
    """A house that keeps four days of hourly readings and cannot reach what is older."""
    house.add(*a_stretch_of([12.0 + i / 10 for i in range(96)], every_min=60))
    readings = Readings(
        house.store.path,
        InfluxHistory(follower_settings(tmp_path, f"http://127.0.0.1:{free_port()}", "caves")),
    )
    yield readings
    readings.close()


def test_a_glance_at_the_last_days_does_without(house: House, readings: Readings) -> None:
    found = readings.series(house.channel().id, ms(-600), ms(600))
    assert found.taken_ms.tolist() == [ms(hour * 60) for hour in range(10)]
    assert len(readings.rollups(house.channel().id, ms(-600), ms(600))) == 60


def test_a_long_span_is_not_shown_as_if_it_were_whole(house: House, readings: Readings) -> None:
    with pytest.raises(OlderUnavailable, match="no longer kept here"):
        readings.series(house.channel().id, ms(-30 * DAY), ms(DAY))
    with pytest.raises(OlderUnavailable):
        readings.rollups(house.channel().id, ms(-30 * DAY), ms(-29 * DAY))


def test_what_is_kept_here_is_never_asked_of_others(house: House, stand_in: InfluxStandIn) -> None:
    house.add(*a_stretch_of([12.0, 12.5]))
    readings = Readings(house.store.path, InfluxHistory(house.settings))
    assert len(readings.series(house.channel().id, ms(0), ms(5))) == 2
    assert stand_in.requests == []
    readings.close()


def test_where_history_begins_is_asked_once(house: House, stand_in: InfluxStandIn) -> None:
    house.add(*a_stretch_of([12.0, 12.5]))
    readings = Readings(house.store.path, InfluxHistory(house.settings))
    for _ in range(3):
        assert len(readings.series(house.channel().id, ms(-3_000), ms(5))) == 2
    assert len(stand_in.requests) == 1
    readings.close()


def test_only_who_asks_for_it_reads_from_there(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    assert far_history() is None
    monkeypatch.setenv("RINDWATCH_INFLUX_URL", "http://127.0.0.1:9")
    with pytest.raises(SettingsWrong, match="RINDWATCH_INFLUX_ORG"):
        far_history()
    monkeypatch.setenv("RINDWATCH_INFLUX_ORG", "dairy")
    with pytest.raises(SettingsWrong, match="RINDWATCH_INFLUX_TOKEN_FILE"):
        far_history()
    monkeypatch.setenv("RINDWATCH_INFLUX_TOKEN_FILE", str(tmp_path / "token"))
    assert far_history() is None
    monkeypatch.setenv("RINDWATCH_INFLUX_HISTORY", "true")
    assert far_history() is not None
    monkeypatch.setenv("RINDWATCH_INFLUX_URL", "influxdb:8086")
    with pytest.raises(SettingsWrong, match=r"must look like .* got 'influxdb:8086'"):
        far_history()
