import numpy as np
import pytest

from collector.demo.incidents import Incident, IncidentKind
from collector.demo.openings import Opening
from collector.demo.probes import Battery, Looks, Measures, OnChange, Probe
from collector.demo.publishing import BACK_AFTER_MS, UNITS, air_messages, door_messages, hourly_status
from collector.demo.weather import DAY_MS, HOUR_MS
from collector.quantities import QUANTITIES

DAY = 20_400
START_MS = DAY * DAY_MS
MINUTE_MS = 60_000
EACH = Probe("p", "cellar", Measures.AIR, 60)
CONTACT = Probe("d", "fridge", Measures.DOOR, 900, 7, battery=Battery(10, 100.0))


def a_day(temperature_c=None, humidity_pct=None) -> Looks:
    taken_ms = START_MS + MINUTE_MS * np.arange(1440, dtype=np.int64)
    flat = np.full(1440, 12.0)
    return Looks(
        taken_ms,
        {
            "temperature": flat if temperature_c is None else temperature_c,
            "humidity": flat + 76 if humidity_pct is None else humidity_pct,
        },
    )


def an_incident(kind: IncidentKind, from_h: float, to_h: float, **changes) -> Incident:
    facts = {"place": "cellar", "account": "It happened."} | changes
    return Incident(kind, from_ms=START_MS + round(from_h * HOUR_MS), to_ms=START_MS + round(to_h * HOUR_MS), **facts)


def published(probe: Probe, read: Looks, *incidents: Incident, held=None):
    return air_messages(probe, read, {}, lambda _: held or {}, incidents)


def test_a_probe_publishes_each_look_with_name_and_unit():
    messages = published(EACH, a_day())
    assert len(messages) == 1440
    assert messages[3] == ("p", START_MS + 3 * MINUTE_MS, (("temperature", 12.0, "Cel"), ("humidity", 88.0, "%RH")))


def test_nothing_is_heard_while_the_power_is_out_nor_at_once_after():
    cut = an_incident(IncidentKind.POWER_CUT, 2.0, 5.5)
    taken = [m.taken_ms for m in published(EACH, a_day(), cut)]
    assert not [t for t in taken if cut.from_ms <= t < cut.to_ms + BACK_AFTER_MS]
    assert len(taken) == 1440 - 210 - 3


def test_a_stuck_probe_repeats_what_it_first_read():
    course = np.arange(1440) / 100
    stuck = an_incident(IncidentKind.PROBE_STUCK, 5, 9, probe="p")
    other = an_incident(IncidentKind.PROBE_STUCK, 12, 13, probe="q")
    messages = published(EACH, a_day(course, course), stuck, other, held={"temperature": 3.0, "humidity": 3.5})
    values = np.array([[value for _, value, _ in m.fields] for m in messages])
    assert set(values[300:540, 0]) == {3.0}
    assert set(values[300:540, 1]) == {3.5}
    assert (values[:300, 0] == course[:300]).all()
    assert (values[540:, 0] == course[540:]).all()


def test_a_probe_that_reports_on_change_speaks_when_it_moved_and_at_the_latest_after_its_time():
    rng = np.random.default_rng(3)
    course = 12 + np.cumsum(rng.normal(0, 0.03, 1440))
    humid = 88 + np.cumsum(rng.normal(0, 0.1, 1440))
    probe = Probe("p", "cellar", Measures.AIR, 60, on_change=OnChange(0.2, 1.0, 900))
    said = {m.taken_ms: [value for _, value, _ in m.fields] for m in published(probe, a_day(course, humid))}
    taken = sorted(said)
    assert taken[0] == START_MS
    assert 96 <= len(taken) < 700
    assert max(np.diff(taken)) <= 900_000
    # Between two messages the value has never been further from the last one said than the rule allows.
    read = a_day(course, humid)
    last = None
    for at, temperature, humidity in zip(read.taken_ms.tolist(), course, humid, strict=True):
        if at in said:
            last = said[at]
        else:
            assert abs(temperature - last[0]) < 0.2
            assert abs(humidity - last[1]) < 1.0


def test_a_probe_that_reports_on_change_speaks_as_soon_as_the_power_is_back():
    probe = Probe("p", "cellar", Measures.AIR, 60, on_change=OnChange(0.2, 1.0, 86_400))
    cut = an_incident(IncidentKind.POWER_CUT, 2.0, 5.5)
    assert [m.taken_ms for m in published(probe, a_day(), cut)] == [START_MS, START_MS + 333 * MINUTE_MS]


def test_battery_and_signal_come_once_an_hour():
    taken_ms = a_day().taken_ms
    status = hourly_status(Probe("p", "cellar", Measures.AIR, 60, battery=Battery(33, 330.0)), 7, START_MS, taken_ms)
    assert sorted(status) == list(range(0, 1440, 60))
    assert [name for name, _, _ in status[0]] == ["battery", "signal"]
    assert status[0][0] == ("battery", 90.0, "%EL")
    assert [name for name, _, _ in hourly_status(EACH, 7, START_MS, taken_ms)[60]] == ["signal"]
    messages = air_messages(EACH, a_day(), status, lambda _: {}, ())
    assert [len(m.fields) for m in messages[:61]] == [4] + 59 * [2] + [4]


def door(found=(), *incidents: Incident):
    messages = door_messages(CONTACT, DAY, tuple(found), lambda _: {}, incidents)
    assert [m.taken_ms for m in messages] == sorted({m.taken_ms for m in messages})
    return [(m.taken_ms - START_MS, m.fields[0][1]) for m in messages]


def test_a_shut_door_says_so_every_interval():
    assert door() == [(7_000 + 900_000 * n, 0.0) for n in range(96)]


def test_a_door_says_when_it_opens_and_when_it_shuts():
    said = door([Opening(START_MS + HOUR_MS, START_MS + HOUR_MS + 90_000)])
    assert (HOUR_MS + 300, 1.0) in said
    assert (HOUR_MS + 7_000, 1.0) in said
    assert (HOUR_MS + 90_300, 0.0) in said
    assert sum(state for _, state in said) == 2


def test_a_door_left_ajar_over_midnight_is_open_on_both_days():
    ajar = an_incident(IncidentKind.DOOR_AJAR, 20.5, 30.25, place="fridge")
    morning = an_incident(IncidentKind.DOOR_AJAR, -3.5, 6.25, place="fridge")
    elsewhere = an_incident(IncidentKind.DOOR_AJAR, 1, 3, place="cellar")
    assert all(state == (at >= 20.5 * HOUR_MS) for at, state in door((), ajar, elsewhere))
    assert all(state == (at < 6.25 * HOUR_MS + 300) for at, state in door((), morning))


def test_who_passes_a_door_that_stands_ajar_does_not_shut_it():
    ajar = an_incident(IncidentKind.DOOR_AJAR, 1, 9, place="fridge")
    said = door([Opening(START_MS + 7 * HOUR_MS, START_MS + 7 * HOUR_MS + 60_000)], ajar)
    assert all(state == 1.0 for at, state in said if HOUR_MS + 300 <= at < 9 * HOUR_MS)


@pytest.mark.parametrize("name", ["temperature", "humidity", "surface_temperature", "pressure"])
def test_every_quantity_has_a_unit_that_the_collector_knows(name):
    assert name in QUANTITIES
    assert UNITS[name] == QUANTITIES[name].usual_units[0]
