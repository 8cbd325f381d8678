import numpy as np
import pytest

from collector.demo.incidents import Incident, IncidentKind, IncidentPlan, dated, effect, touches, worst
from collector.demo.scenario import incidents_of
from collector.demo.weather import DAY_MS, HOUR_MS

ANCHOR_DAY = 20_405
ANCHOR_MS = ANCHOR_DAY * DAY_MS + 5 * HOUR_MS


def an_incident(**changes) -> Incident:
    facts = {
        "kind": IncidentKind.COOLER_FAILING,
        "place": "cellar",
        "from_ms": 10 * HOUR_MS,
        "to_ms": 20 * HOUR_MS,
        "account": "It failed.",
        "strength": 0.8,
        "ramp_ms": 4 * HOUR_MS,
    }
    return Incident(**(facts | changes))


def test_a_plan_is_dated_by_the_day_of_the_anchor_not_by_its_hour():
    plan = IncidentPlan(IncidentKind.POWER_CUT, "Quillfold", 6, 2.0 + 1 / 6, 3.5, "The power was out.")
    early = dated(plan, ANCHOR_DAY * DAY_MS)
    assert early == dated(plan, ANCHOR_MS) == dated(plan, (ANCHOR_DAY + 1) * DAY_MS - 1)
    assert early.from_ms == (ANCHOR_DAY - 6) * DAY_MS + 130 * 60_000
    assert early.to_ms - early.from_ms == 210 * 60_000


def test_an_effect_grows_to_its_strength_and_ends():
    at_ms = HOUR_MS * np.array([9, 10, 12, 14, 19, 20])
    assert effect(an_incident(), at_ms) == pytest.approx([0, 0, 0.4, 0.8, 0.8, 0])


def test_an_effect_without_a_ramp_is_there_at_once():
    assert effect(an_incident(ramp_ms=0), HOUR_MS * np.array([9, 10, 19, 20])).tolist() == [0, 0.8, 0.8, 0]


def test_the_worst_of_several_counts_in_its_place_and_kind_only():
    both = (an_incident(ramp_ms=0), an_incident(ramp_ms=0, strength=0.3, from_ms=0))
    at_ms = HOUR_MS * np.array([5, 15])
    assert worst(both, IncidentKind.COOLER_FAILING, "cellar", at_ms).tolist() == [0.3, 0.8]
    assert worst(both, IncidentKind.COOLER_FAILING, None, at_ms).tolist() == [0.3, 0.8]
    assert worst(both, IncidentKind.COOLER_FAILING, "box", at_ms).tolist() == [0, 0]
    assert worst(both, IncidentKind.DOOR_AJAR, "cellar", at_ms).tolist() == [0, 0]


def test_spans_touch_when_they_have_a_moment_in_common():
    incident = an_incident()
    assert touches(incident, 19 * HOUR_MS, 30 * HOUR_MS)
    assert not touches(incident, 20 * HOUR_MS, 30 * HOUR_MS)
    assert not touches(incident, 0, 10 * HOUR_MS)


def test_the_last_fortnight_holds_one_of_each_that_a_new_user_should_see(world):
    day = world.anchor_ms // DAY_MS
    recent = [i for i in incidents_of(world) if (day - 14) * DAY_MS <= i.from_ms <= world.anchor_ms]
    assert {i.kind for i in recent} == {
        IncidentKind.HUMIDIFIER_DRY,
        IncidentKind.DOOR_AJAR,
        IncidentKind.POWER_CUT,
        IncidentKind.PROBE_STUCK,
    }
    assert all(len(i.account) > 20 for i in recent)


@pytest.mark.parametrize("hour", [0, 12, 23])
def test_one_is_going_on_at_the_first_start_at_whatever_hour_that_is(world, hour):
    now = world.anchor_ms // DAY_MS * DAY_MS + hour * HOUR_MS
    going_on = [i for i in incidents_of(world) if i.from_ms <= now < i.to_ms]
    assert [i.kind for i in going_on] == [IncidentKind.HUMIDIFIER_DRY]


def test_the_year_holds_every_kind_and_the_time_to_come_is_not_empty(world):
    every = incidents_of(world)
    assert {i.kind for i in every if i.to_ms < world.anchor_ms} == set(IncidentKind)
    assert sum(i.from_ms > world.anchor_ms for i in every) > 20
    assert [i.from_ms for i in every] == sorted(i.from_ms for i in every)


def test_incidents_of_one_kind_and_place_do_not_overlap(world):
    last: dict[tuple[str, str], int] = {}
    for incident in incidents_of(world):
        key = (incident.kind, incident.place)
        assert incident.from_ms >= last.get(key, 0)
        last[key] = incident.to_ms
