"""What the follower promises of any InfluxDB 2; the same suite for a real server and for the stand-in.

A real server is named by RINDWATCH_TEST_INFLUX_URL, _ORG, _BUCKET and _TOKEN; the token must be allowed to make and
delete buckets. Buckets named after _BUCKET are made for each test and deleted after it.
"""

import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from collector.errors import FollowerAway, FollowerShut
from collector.readings.follower.history import InfluxHistory
from collector.readings.follower.ledger import set_aside_rows
from collector.readings.follower.lines import take_back_key
from collector.readings.follower.look import bucket_there, bucket_trouble, set_up
from collector.readings.follower.points import READING
from collector.readings.follower.server import InfluxServer
from collector.readings.follower.settings import FollowerSettings
from collector.readings.reader import Readings, units
from collector.readings.rollups import follow
from collector.readings.store import SqliteReadings
from tests.brokers import free_port
from tests.builders import MINUTE_MS, a_sample, a_stretch_of, an_arrival, ms
from tests.following import House, a_house, follower_settings, real_server
from tests.influx_stand_in import InfluxStandIn


@contextmanager
def a_stand_in(folder: Path) -> Iterator[FollowerSettings]:
    with InfluxStandIn().running() as stand_in:
        yield follower_settings(folder, stand_in.url, "caves")


@contextmanager
def a_real_one(folder: Path) -> Iterator[FollowerSettings]:
    found = real_server()
    if found is None:
        pytest.skip("no real server: set RINDWATCH_TEST_INFLUX_URL, _ORG, _BUCKET and _TOKEN")
    url, org, bucket, token = found
    settings = follower_settings(folder, url, f"{bucket}-{uuid.uuid4().hex[:8]}", org, token)
    try:
        yield settings
    finally:
        _delete_bucket(settings)


def _delete_bucket(settings: FollowerSettings) -> None:
    from influxdb_client import InfluxDBClient
    from influxdb_client.rest import ApiException

    assert settings.token is not None
    with InfluxDBClient(settings.influx_url, settings.token.get_secret_value(), org=settings.influx_org) as client:
        try:
            found = client.buckets_api().find_buckets(name=settings.influx_bucket).buckets
        except ApiException as error:
            if error.status != 404:
                raise
            return  # the test has made none
        for bucket in found or []:
            client.buckets_api().delete_bucket(bucket)


PATIENCE_MS = 30_000  # a real one may take its time for the first point of a bucket
SERVERS = {"stand-in": a_stand_in, "real": a_real_one}


@pytest.fixture(params=sorted(SERVERS))
def settings(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[FollowerSettings]:
    with SERVERS[request.param](tmp_path) as settings:
        yield settings


@pytest.fixture
def house(tmp_path: Path, settings: FollowerSettings) -> Iterator[House]:
    set_up(settings)
    with a_house(tmp_path, settings, PATIENCE_MS) as house:
        yield house


def test_readings_and_their_rollups_arrive_as_they_are_here(house: House) -> None:
    house.add(*a_stretch_of([12.0, 12.5, 1e-7, -273.15, 1e22], every_min=4))
    house.add(*a_stretch_of([87.0, 88.5], field="humidity", unit="%RH"))
    house.follow_all()
    assert len(house.here()) > 10
    assert house.there() == house.here()


def test_what_was_there_before_the_first_start_is_copied_too(tmp_path: Path, settings: FollowerSettings) -> None:
    set_up(settings)
    store = SqliteReadings(tmp_path / "readings.sqlite3")
    store.add(a_stretch_of([12.0 + i / 10 for i in range(50)]))
    while follow(store):
        pass
    store.drop_changes(1_000)
    store.close()
    with a_house(tmp_path, settings, PATIENCE_MS) as house:
        house.follow_all()
        assert len(house.here()) > 50
        assert house.there() == house.here()


def test_copying_twice_changes_nothing(house: House) -> None:
    house.add(*a_stretch_of([12.0, 12.5, 13.0]))
    house.follow_all()
    with house.store.transaction() as db:
        db.execute("UPDATE consumer SET seq=0 WHERE name='follower'")
    house.follow_all()
    assert house.there() == house.here()


def test_a_corrected_value_and_unit_overwrite(house: House) -> None:
    house.add(an_arrival(a_sample(0, 12.0)), an_arrival(a_sample(1, 12.5)))
    house.follow_all()
    house.add(an_arrival(a_sample(0, 53.6, unit="degF")))
    house.follow_all()
    assert house.there() == house.here()
    assert (53.6, "degF", 0, 0) in house.there().values()


def test_a_late_reading_mends_the_rollups_before_and_after_it(house: House) -> None:
    house.add(*a_stretch_of([12.0, 13.0, 14.0], every_min=30))
    house.follow_all()
    house.add(an_arrival(a_sample(31, 20.0)), an_arrival(a_sample(32, 21.0)))
    house.follow_all()
    assert house.there() == house.here()


def test_rollups_that_are_no_more_are_taken_back(house: House) -> None:
    # One reading alone is held for a quarter of an hour, into later steps; a second one shows a shorter interval.
    house.add(an_arrival(a_sample(9.5, 12.0)))
    house.follow_all()
    before = house.there()
    house.add(an_arrival(a_sample(9.6, 12.0)))
    house.follow_all()
    assert house.there() == house.here()
    assert len(before.keys() - house.there().keys()) == 2


def test_a_probe_that_promises_less_takes_rollups_back(house: House) -> None:
    house.add(*a_stretch_of([12.0, 12.5], every_min=60))
    house.follow_all()
    house.store.hold("cellar-1", 120)
    while follow(house.store):
        pass
    before = house.there()
    house.follow_all()
    assert len(house.there()) < len(before)
    assert house.there() == house.here()


NAMES = [
    "cellar 1",
    "a,b=c",
    'say "damp"',
    "back\\slash\\",
    "zwei\nZeilen\t",
    "Käse 🧀",
    "${x}",
    "$",
    "'",
    "#",
    "a\u2028b",
]


@pytest.mark.parametrize("name", NAMES)
def test_a_probe_may_be_called_anything(house: House, name: str) -> None:
    house.add(an_arrival(a_sample(0, 12.0, name, unit=name), a_sample(1, 12.5, name, unit=name), probe=name))
    house.add(an_arrival(a_sample(9.5, 1, name, unit=name), probe=name))
    house.follow_all()
    assert len(house.there()) == len(house.here()) >= 4
    assert house.there() == house.here()


@pytest.mark.parametrize("name", NAMES)
def test_what_any_name_has_there_can_be_taken_back(house: House, name: str) -> None:
    house.add(*[an_arrival(a_sample(minute, 12.0, name, unit=name), probe=name) for minute in (0, 9.5)])
    house.follow_all()
    channel = house.channel(name, name)
    measurement, own = take_back_key(channel, name)
    mine = [key for key in house.there() if key[0] == measurement]
    assert len(mine) >= 2
    first, last = min(int(str(key[4])) for key in mine), max(int(str(key[4])) for key in mine)
    house.server.take_back(measurement, own, first, last - 10 * MINUTE_MS)
    assert [key[4] for key in house.there() if key[0] == measurement] == [last]
    house.server.take_back(measurement, own, last, last)
    assert {key[0] for key in house.there()} == {READING}


@pytest.mark.parametrize("days", [1, 2, 6, 7, 200])
def test_a_bucket_that_kept_for_ever_may_keep_less(settings: FollowerSettings, days: int) -> None:
    set_up(settings)
    shorter = settings.model_copy(update={"influx_keep_days": days})
    set_up(shorter)
    assert bucket_trouble(shorter, bucket_there(shorter)) == ""


def test_values_that_are_no_numbers_are_left_out(house: House) -> None:
    house.add(an_arrival(a_sample(0, 12.0)), an_arrival(a_sample(1, float("inf"))))
    house.follow_all()
    raw = [key for key in house.there() if key[0] == "reading"]
    assert [key[4] for key in raw] == [ms(0)]


def test_an_outage_of_any_length_is_made_good(house: House, tmp_path: Path) -> None:
    dead = replace_server(house, FollowerSettings(**house.settings.model_dump() | {"influx_url": _nowhere()}))
    for hour in range(30):
        house.add(*[an_arrival(a_sample(60 * hour + i, 12 + i / 10)) for i in range(0, 60, 5)])
        with pytest.raises(FollowerAway, match="does not answer"):
            house.follower.step()
        house.follower.absorb()
    assert house.ledger.lag() == 0
    assert house.ledger.owed_total()[0] == 1
    house.follower._server = house.server
    house.follow_all()
    dead.close()
    assert house.there() == house.here()
    assert house.ledger.owed() is None


def _nowhere() -> str:
    return f"http://127.0.0.1:{free_port()}"


def replace_server(house: House, settings: FollowerSettings) -> InfluxServer:
    server = InfluxServer(settings, 2_000)
    house.follower._server = server
    return server


def test_a_wrong_token_is_told_in_plain_words(house: House) -> None:
    house.add(an_arrival())
    assert house.settings.influx_token_file is not None
    right = house.settings.influx_token_file.read_text()
    house.settings.influx_token_file.write_text("wrong")
    with pytest.raises(FollowerShut, match="does not accept the token"):
        house.follower.step()
    house.settings.influx_token_file.write_text(right)  # mended while it runs
    house.follow_all()
    assert house.there() == house.here()


def test_a_bucket_that_is_missing_is_told(tmp_path: Path, settings: FollowerSettings) -> None:
    with a_house(tmp_path, settings, PATIENCE_MS) as house:
        house.add(an_arrival())
        with pytest.raises(FollowerShut, match=f"knows no bucket {settings.influx_bucket}"):
            house.follower.step()
        assert bucket_there(settings) is None
        assert "has no bucket" in bucket_trouble(settings, None)


def test_setting_up_makes_the_bucket_and_changes_how_long_it_keeps(settings: FollowerSettings) -> None:
    assert set_up(settings) == f"the bucket {settings.influx_bucket} keeps for ever"
    assert bucket_trouble(settings, bucket_there(settings)) == ""
    shorter = settings.model_copy(update={"influx_keep_days": 30})
    assert "keeps for ever, but by the settings" in bucket_trouble(shorter, bucket_there(settings))
    set_up(shorter)
    assert bucket_trouble(shorter, bucket_there(shorter)) == ""
    set_up(settings)
    assert bucket_trouble(settings, bucket_there(settings)) == ""


def test_points_older_than_the_bucket_keeps_are_set_aside_and_the_others_written(house: House) -> None:
    import time

    set_up(house.settings.model_copy(update={"influx_keep_days": 10}))
    now_minute = (time.time() * 1_000 - ms(0)) / MINUTE_MS
    old, new = now_minute - 40 * 1_440, now_minute - 60
    samples = [a_sample(old + i, 1.0) for i in range(12)] + [a_sample(new + i, 2.0) for i in range(12)]
    house.add(*[an_arrival(sample) for sample in samples])
    house.follow_all()
    assert [values[0] for key, values in house.there().items() if key[0] == "reading"] == [2.0] * 12
    aside = set_aside_rows(house.db)
    assert "value=1.0" in " ".join(line for line, _, _ in aside)
    assert house.ledger.counter("follower_set_aside") == len(aside) >= 12


def test_history_that_is_not_kept_here_is_read_from_there(house: House) -> None:
    house.add(*a_stretch_of([10 + i / 10 for i in range(100)]))
    house.follow_all()
    channel, all_of_it = house.channel(), house.here()
    with house.store.transaction() as db:
        db.execute("DELETE FROM reading WHERE taken_ms<?", (ms(60),))
        db.execute("DELETE FROM rollup WHERE start_ms<?", (ms(60),))
        db.execute("DELETE FROM pack")
    own = house.settings.model_copy(update={"influx_history": True})
    readings = Readings(house.store.path, InfluxHistory(own))
    series = readings.series(channel.id, ms(10), ms(90), before=2, after=1)
    assert series.taken_ms.tolist() == [ms(minute) for minute in range(8, 91)]
    assert series.value.tolist() == [10 + minute / 10 for minute in range(8, 91)]
    assert {series.units[number] for number in series.unit.tolist()} == {"Cel"}
    rollups = readings.rollups(channel.id, ms(0), ms(100))
    kept = {key[4]: values for key, values in all_of_it.items() if key[0] == "ten_minutes" and key[4] < ms(100)}
    assert rollups.start_ms.tolist() == sorted(kept)
    assert rollups.mean.tolist() == [kept[at][3] for at in sorted(kept)]
    assert rollups.spread.tolist() == [kept[at][5] for at in sorted(kept)]
    readings.close()


def test_points_from_before_spreads_were_copied_have_them_guessed(house: House) -> None:
    house.add(*a_stretch_of([12.0] * 20))
    house.follow_all()
    before = "count=2i,low=10.0,high=14.0,mean=12.0,covered_ms=600000i"
    house.server.write(
        [f"ten_minutes,field=temperature,probe=cellar-1,quantity=temperature,unit=Cel {before} {ms(-20)}"]
    )
    readings = Readings(house.store.path, InfluxHistory(house.settings.model_copy(update={"influx_history": True})))
    found = readings.rollups(house.channel().id, ms(-30), ms(10))
    readings.close()
    assert found.start_ms.tolist() == [ms(-20), ms(0)]
    assert found.spread.tolist() == [2.0, 0.0]


def test_a_span_before_all_history_has_no_readings(house: House) -> None:
    house.add(an_arrival())
    house.follow_all()
    history = InfluxHistory(house.settings)
    assert len(history.readings(house.channel(), 0, ms(0), units(house.db))) == 0
    assert len(history.rollups(house.channel(), 0, ms(0), units(house.db))) == 0
