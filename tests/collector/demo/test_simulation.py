from collections import Counter, defaultdict
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from collector.demo.quillfold import QUILLFOLD
from collector.demo.scenario import World
from collector.demo.simulation import Simulation, simulate
from collector.demo.weather import DAY_MS, HOUR_MS
from collector.quantities import QUANTITIES


@pytest.fixture(scope="module")
def fortnight(simulation):
    end_ms = simulation.world.anchor_ms
    return list(simulation.messages(end_ms - 14 * DAY_MS, end_ms))


def test_one_call_over_six_days_equals_six_calls_of_a_day_in_any_order(world):
    first_ms = (world.anchor_ms // DAY_MS - 8) * DAY_MS
    whole = list(simulate(QUILLFOLD, world.seed, world.anchor_ms, first_ms, first_ms + 6 * DAY_MS))
    parts = {}
    for day in (5, 0, 3, 1, 4, 2):
        from_ms = first_ms + day * DAY_MS
        parts[day] = list(simulate(QUILLFOLD, world.seed, world.anchor_ms, from_ms, from_ms + DAY_MS))
    assert whole == [message for day in range(6) for message in parts[day]]
    assert len(whole) > 25_000


@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(st.integers(0, 2 * DAY_MS), max_size=4))
def test_a_span_is_the_same_however_it_is_cut(simulation, cuts):
    start_ms = (simulation.world.anchor_ms // DAY_MS - 5) * DAY_MS
    edges = sorted({0, 2 * DAY_MS, *cuts})
    parts = [list(simulation.messages(start_ms + a, start_ms + b)) for a, b in pairwise(edges)]
    assert [m for part in parts for m in part] == list(simulation.messages(start_ms, start_ms + 2 * DAY_MS))


@settings(max_examples=3, deadline=None)
@given(st.integers(-400, 30), st.integers(0, DAY_MS - 1), st.integers(60_000, DAY_MS))
def test_any_span_can_be_made_first(day, from_ms, length_ms):
    anchor_ms = 20_405 * DAY_MS
    start_ms = (20_405 + day) * DAY_MS + from_ms
    cold = list(simulate(QUILLFOLD, 11, anchor_ms, start_ms, start_ms + length_ms))
    warm = Simulation(World(QUILLFOLD, 11, anchor_ms))
    list(warm.messages(start_ms - DAY_MS, start_ms))
    assert cold == list(warm.messages(start_ms, start_ms + length_ms))


def test_an_empty_span_has_no_messages(simulation):
    now_ms = simulation.world.anchor_ms
    assert list(simulation.messages(now_ms, now_ms)) == []
    assert list(simulation.messages(now_ms, now_ms - DAY_MS)) == []
    assert simulation.true_air("cellar", now_ms, now_ms).at_ms.size == 0


def test_messages_come_in_order_of_time_and_within_the_span(fortnight, world):
    taken = [message.taken_ms for message in fortnight]
    assert taken == sorted(taken)
    assert taken[0] >= world.anchor_ms - 14 * DAY_MS
    assert taken[-1] < world.anchor_ms
    assert len({(message.probe, message.taken_ms) for message in fortnight}) == len(fortnight)


def test_every_probe_speaks_as_often_as_it_should(fortnight, world):
    counts = Counter(message.probe for message in fortnight)
    outage_s = 3.5 * 3600 + 150
    for probe in world.scenario.probes:
        expected = (14 * 86_400 - outage_s) / probe.interval_s
        if probe.on_change is None:
            assert expected - 2 <= counts[probe.name] <= 1.1 * expected + 2, probe.name
        else:
            assert 14 * 90 < counts[probe.name] < 0.6 * expected


def test_every_value_has_a_known_quantity_and_unit_within_its_limits(fortnight):
    for message in fortnight:
        names = [name for name, _, _ in message.fields]
        assert len(set(names)) == len(names)
        for name, value, unit in message.fields:
            quantity = QUANTITIES[name]
            assert unit in quantity.usual_units
            assert type(value) is float
            if unit == quantity.unit:
                assert quantity.lowest <= value <= quantity.highest


def test_a_probe_reads_what_is_true_but_for_its_own_error(fortnight, simulation, world):
    end_ms = world.anchor_ms
    for probe in world.scenario.probes:
        if probe.name not in ("cellar-front", "cellar-back", "cold-fridge"):
            continue
        true = simulation.true_air(probe.place, end_ms - 3 * DAY_MS, end_ms)
        said = [{n: v for n, v, _ in m.fields} for m in fortnight if m.probe == probe.name]
        said = said[-round(3 * 86_400 / probe.interval_s) :]
        warm = np.mean([row["temperature"] for row in said]) - true.temperature_c.mean()
        humid = np.mean([row["humidity"] for row in said]) - true.humidity_pct.mean()
        assert warm == pytest.approx(probe.temperature_off_k, abs=0.05)
        assert humid == pytest.approx(probe.humidity_off_pct, abs=0.9)


def test_the_probe_at_the_back_of_the_cellar_reads_three_points_more(fortnight):
    by_probe = defaultdict(list)
    for message in fortnight:
        if message.probe in ("cellar-front", "cellar-back"):
            by_probe[message.probe].append(message.fields[1][1])
    assert np.median(by_probe["cellar-back"]) - np.median(by_probe["cellar-front"]) == pytest.approx(3, abs=0.7)


def test_the_stuck_probe_said_the_same_for_a_day(fortnight, world):
    from_ms = (world.anchor_ms // DAY_MS - 13) * DAY_MS + 5 * HOUR_MS
    said = [m.fields[:2] for m in fortnight if m.probe == "cellar-back" and from_ms <= m.taken_ms < from_ms + DAY_MS]
    assert len(said) == 288
    assert len(set(said)) == 1
    longest, last, length = 0, None, 0
    for message in fortnight:
        if message.probe == "cellar-back" and message.taken_ms >= from_ms + DAY_MS:
            length = length + 1 if message.fields[:2] == last else 1
            last, longest = message.fields[:2], max(longest, length)
    assert longest < 6


def test_a_batterys_charge_falls(fortnight):
    charge = [v for m in fortnight if m.probe == "cellar-back" for n, v, _ in m.fields if n == "battery"]
    assert len(charge) > 300
    assert 5 <= charge[-1] < charge[0] < 20


def test_the_door_contact_saw_the_night_ajar(fortnight, world):
    from_ms = (world.anchor_ms // DAY_MS - 4) * DAY_MS + 20.5 * HOUR_MS
    said = [(m.taken_ms - from_ms, m.fields[0][1]) for m in fortnight if m.probe == "washed-door"]
    night = [state for at, state in said if 300 <= at < 9.75 * HOUR_MS]
    assert len(night) >= 39
    assert set(night) == {1.0}


def test_the_true_air_of_every_place_can_be_had_and_no_other(simulation):
    now_ms = simulation.world.anchor_ms
    for place in simulation.world.scenario.places:
        air = simulation.true_air(place.name, now_ms - 90_000, now_ms + HOUR_MS)
        assert np.unique(np.diff(air.at_ms)).tolist() == [60_000]
        assert air.at_ms[0] >= now_ms - 90_000
        assert ((air.humidity_pct > 20) & (air.humidity_pct <= 100)).all()
    with pytest.raises(ValueError, match=r"place must be one of cellar, .*, got attic"):
        simulation.true_air("attic", now_ms, now_ms + 1)


def test_the_counter_is_read_by_hand_on_mornings_with_cheese_on_it(simulation):
    now_ms = simulation.world.anchor_ms
    read = list(simulation.hand_readings(now_ms - 20 * DAY_MS, now_ms))
    assert {r.place for r in read} == {"drying counter"}
    assert 4 <= len(read) < 15
    for reading in read:
        true = simulation.true_air("drying counter", reading.at_ms, reading.at_ms + 1)
        assert reading.temperature_c == pytest.approx(true.temperature_c[0] + 0.6, abs=1.0)
        assert reading.humidity_pct == pytest.approx(true.humidity_pct[0] - 4, abs=4.5)


def test_an_unknown_wheel_is_refused(simulation):
    with pytest.raises(ValueError, match="Quillfold has no wheel 99-99Z"):
        simulation.wheel_mass_g("99-99Z", np.array([0]))


def test_a_seed_below_0_is_refused():
    with pytest.raises(ValueError, match="seed must be from 0"):
        list(simulate(QUILLFOLD, -1, 0, 0, HOUR_MS))
