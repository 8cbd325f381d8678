"""The follower against a database that misbehaves: nothing is lost, and what can never be taken is set aside."""

import threading
import time
from datetime import timedelta
from threading import Event

import pytest

from collector.errors import FollowerAway, FollowerShut
from collector.readings.follower.ledger import set_aside_rows
from tests.brokers import wait_for
from tests.builders import a_sample, a_stretch_of, an_arrival
from tests.following import House
from tests.influx_stand_in import InfluxStandIn, Trouble

TROUBLES = {
    "busy": Trouble(429, headers={"Retry-After": "0.2"}),
    "unavailable": Trouble(503, headers={"Retry-After": "0"}),
    "broken": Trouble(500),
    "gateway": Trouble(502, "<html>"),
    "moved": Trouble(301, headers={"Location": "http://127.0.0.1:9/"}),
    "no answer": Trouble(connection="close"),
    "half an answer": Trouble(connection="half"),
    "an answer that is lost": Trouble(connection="close", after=True),
    "too slow": Trouble(wait_s=2.5, after=True),
}


@pytest.mark.parametrize("name", sorted(TROUBLES))
def test_after_any_trouble_everything_is_there(house: House, stand_in: InfluxStandIn, name: str) -> None:
    house.add(*a_stretch_of([12.0, 12.5, 13.0]))
    stand_in.troubles.append(TROUBLES[name])
    with pytest.raises(FollowerAway):
        house.follower.step()
    house.follow_all()
    assert house.there() == house.here()
    assert set_aside_rows(house.db) == []


@pytest.mark.parametrize("asked", ["7", "Wed, 21 Oct 2099 07:28:00 GMT"])
def test_the_pause_that_is_asked_for_is_told(house: House, stand_in: InfluxStandIn, asked: str) -> None:
    house.add(an_arrival())
    stand_in.troubles.append(Trouble(429, headers={"Retry-After": asked}))
    with pytest.raises(FollowerAway) as told:
        house.follower.step()
    assert told.value.wait_s is not None
    assert told.value.wait_s == 7 if asked == "7" else told.value.wait_s > 1e9


def test_a_pause_that_cannot_be_read_is_no_pause(house: House, stand_in: InfluxStandIn) -> None:
    house.add(an_arrival())
    stand_in.troubles.append(Trouble(503, headers={"Retry-After": "soon"}))
    with pytest.raises(FollowerAway) as told:
        house.follower.step()
    assert told.value.wait_s is None


def test_a_batch_that_is_too_large_goes_in_smaller_ones(house: House, stand_in: InfluxStandIn) -> None:
    house.add(*a_stretch_of([12.0] * 40))
    stand_in.max_lines = 6
    house.follow_all()
    assert house.there() == house.here()
    assert house.follower.state.batch <= 6
    stand_in.requests.clear()
    house.add(*a_stretch_of([13.0] * 40))
    house.follow_all()
    assert max(stand_in.writes()) <= 6, "it remembers what is taken"


def test_a_point_that_is_too_large_even_alone_is_set_aside(house: House, stand_in: InfluxStandIn) -> None:
    house.add(an_arrival())
    stand_in.max_lines = 0
    house.follow_all()
    assert [reason for _, reason, _ in set_aside_rows(house.db)] == ["takes fewer points at once"] * 3
    assert house.follower.state.set_aside == 3


def test_points_that_are_refused_are_sought_and_the_others_kept(house: House, stand_in: InfluxStandIn) -> None:
    # Somebody else has written a text where our rollups have numbers.
    stand_in.buckets["caves"].types[("ten_minutes", "mean")] = str
    house.add(*a_stretch_of([12.0 + i for i in range(30)]))
    house.follow_all()
    raw = {key: values for key, values in house.here().items() if key[0] == "reading"}
    assert house.there() == raw
    aside = set_aside_rows(house.db)
    assert len(aside) == len(house.here()) - len(raw) == house.ledger.counter("follower_set_aside")
    assert all(line.startswith("ten_minutes,") and "field type conflict" in reason for line, reason, _ in aside)


def test_many_refused_points_do_not_become_as_many_requests(house: House, stand_in: InfluxStandIn) -> None:
    stand_in.buckets["caves"].types[("reading", "value")] = str
    house.add(*a_stretch_of([12.0] * 200))
    house.follow_all()
    assert len(stand_in.writes()) < 120
    assert house.ledger.counter("follower_set_aside") >= 200
    steps = {key for key in house.here() if key[0] == "ten_minutes"}
    assert steps <= house.there().keys() | set(), "a database that keeps what it can has them"


def test_a_database_that_cannot_delete_stops_nothing(house: House, stand_in: InfluxStandIn) -> None:
    house.add(an_arrival(a_sample(9.5, 12.0)))
    house.follow_all()
    house.add(an_arrival(a_sample(9.6, 12.0)))
    stand_in.troubles.append(Trouble(501))
    house.follow_all()
    assert not house.ledger.has_vanished()
    assert house.here().items() <= house.there().items()


def test_a_kill_between_sending_and_noting_is_harmless(house: House, monkeypatch: pytest.MonkeyPatch) -> None:
    house.add(*a_stretch_of([12.0, 12.5]))

    def killed(*_args: object) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as patch:
        patch.setattr(house.ledger, "moved", killed)
        with pytest.raises(KeyboardInterrupt):
            house.follower.step()
    house.add(an_arrival(a_sample(5, 14.0)))
    house.follow_all()
    assert house.there() == house.here()


def test_it_goes_on_by_itself_on_its_own_thread(house: House, stand_in: InfluxStandIn) -> None:
    stand_in.troubles.extend([Trouble(401), Trouble(503, headers={"Retry-After": "0"})])
    house.add(*a_stretch_of([12.0, 12.5]))
    stop = Event()
    thread = threading.Thread(target=house.follower.run, args=(stop,))
    thread.start()
    wait_for(lambda: house.follower.state.state == "shut", what="the refusal is told")
    wait_for(lambda: house.follower.state.state == "following" and house.ledger_is_paid(), what="it has gone on")
    assert house.there() == house.here()
    stop.set()
    thread.join(10)
    assert not thread.is_alive()


def test_it_ends_at_once_while_it_waits(house: House, stand_in: InfluxStandIn) -> None:
    stand_in.troubles.append(Trouble(503, headers={"Retry-After": "3600"}))
    house.add(an_arrival())
    stop = Event()
    thread = threading.Thread(target=house.follower.run, args=(stop,))
    thread.start()
    wait_for(lambda: house.follower.state.state == "away", what="it waits")
    began = time.monotonic()
    stop.set()
    thread.join(10)
    assert time.monotonic() - began < 5
    assert house.ledger.lag() == 0, "what waits is owed, and the log is free"
    assert house.ledger.owed() is not None


def test_a_token_file_that_is_gone_shuts_it_and_not_us(house: House) -> None:
    house.add(an_arrival())
    assert house.settings.influx_token_file is not None
    house.settings.influx_token_file.unlink()
    with pytest.raises(FollowerShut, match="RINDWATCH_INFLUX_TOKEN_FILE"):
        house.follower.step()


def test_it_says_up_to_when_all_is_there(house: House, stand_in: InfluxStandIn) -> None:
    house.add(*a_stretch_of([12.0, 12.5]))
    house.follow_all()
    complete_at = house.follower.state.complete_at
    assert complete_at == house.clock.now()
    house.clock.advance(timedelta(hours=1))
    house.add(*a_stretch_of([13.0, 13.5], field="t2"))
    stand_in.troubles.append(Trouble(503))
    with pytest.raises(FollowerAway):
        house.follower.step()
    house.follower.absorb()
    assert house.follower.state.complete_at == complete_at
    house.follow_all()
    assert house.follower.state.complete_at == house.clock.now()
