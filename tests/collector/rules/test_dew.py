from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from collector.air.model import STEP_MS, Air, Origin
from collector.moist_air import dew_point_c
from collector.rules.dew import DEW_RULES
from collector.rules.dew_margin import drip_margin, hours_below, slow_mean, sweat_margin
from collector.rules.model import PlaceRule, PlaceSituation, Verdict
from tests.collector.rules.places import (
    DAY,
    HOUR,
    START_MS,
    a_situation,
    an_air,
    finished_before,
    judged_in_parts,
    open_at,
    part_of,
)

SWEAT, DRIP = DEW_RULES


def judged(rule: PlaceRule, air: Air) -> list[Verdict]:
    return rule.judge(a_situation(air), None)


def warmed(from_c: float, to_c: float, humidity_pct: float) -> Air:
    """A day at one temperature, then two hours' rise to another, held for a day."""
    t = np.concatenate([np.full(DAY, from_c), np.linspace(from_c, to_c, 2 * HOUR), np.full(DAY, to_c)])
    return an_air(t, np.full(len(t), humidity_pct))


# --- the slow mean ---


def test_slow_mean_reaches_63_percent_after_its_time_constant() -> None:
    # A first-order lag after a step: 1 - 1/e after one time constant, 1 - 1/e^2 after two (any textbook).
    step = np.where(np.arange(3 * DAY) < DAY, 0.0, 1.0)
    slow = slow_mean(step, np.ones(len(step)), 6.0)
    assert slow[DAY + 6 * HOUR - 1] == pytest.approx(1 - np.exp(-1), abs=0.01)
    assert slow[DAY + 12 * HOUR - 1] == pytest.approx(1 - np.exp(-2), abs=0.01)


def test_slow_mean_of_a_constant_is_the_constant() -> None:
    assert (slow_mean(np.full(400, 12.3), np.ones(400), 6.0)[-1]) == 12.3


def test_slow_mean_is_unknown_until_half_its_weight_is_known() -> None:
    slow = slow_mean(np.full(DAY, 12.0), np.ones(DAY), 6.0)
    # 1 - exp(-t / 6 h) passes half at 4.16 h.
    assert np.isnan(slow[:24]).all()
    assert not np.isnan(slow[25:]).any()


def test_slow_mean_refuses_a_time_constant_out_of_range() -> None:
    with pytest.raises(ValueError, match=r"lag_h must be from 0\.1 to 48 h, got 0"):
        slow_mean(np.zeros(3), np.ones(3), 0)


# --- wheels ---


def test_wheels_sweat_when_the_air_warms_faster_than_they_do() -> None:
    # At 16 degC 92 % the dew point is 14.7 degC; wheels at 12 degC are below it until they have caught up.
    [verdict] = judged(SWEAT, warmed(12, 16, 92))
    assert verdict.cleared_ms is not None
    facts = verdict.facts
    assert -3 < facts["worst"] < -1.5
    assert facts["sure"] is True
    assert 3 < facts["outside_h"] < 12
    assert facts["dew_point_c"] == pytest.approx(float(dew_point_c(16, 92)), abs=0.01)
    assert facts["ended"] == "inside"


def test_steady_damp_air_does_not_make_wheels_sweat() -> None:
    assert judged(SWEAT, an_air(np.full(3 * DAY, 12.0), np.full(3 * DAY, 100.0))) == []


def test_air_that_cools_does_not_make_wheels_sweat() -> None:
    assert judged(SWEAT, warmed(16, 10, 95)) == []


def test_a_cycling_cooler_does_not_make_wheels_sweat() -> None:
    minutes = np.arange(4 * 1440)
    wave = np.sin(2 * np.pi * minutes / 40)
    t = (12 + 1.0 * wave).reshape(-1, 10).mean(axis=1)
    h = (93 - 4 * wave).reshape(-1, 10).mean(axis=1)
    assert judged(SWEAT, an_air(t, h)) == []


def test_an_empty_place_has_no_wheels_to_sweat() -> None:
    assert SWEAT.judge(a_situation(warmed(12, 16, 92), resting=True), None) == []


def test_margin_of_wheels_is_their_slow_mean_less_the_dew_point() -> None:
    # 12 degC 88 %: dew point 10.08 degC by the psychrometric functions tested elsewhere against CoolProp.
    margin = sweat_margin(an_air(np.full(DAY, 12.0), np.full(DAY, 88.0)))
    assert margin.k[-1] == pytest.approx(12 - float(dew_point_c(12, 88)), abs=1e-6)


def test_an_uncertainty_that_is_asked_for_late_is_the_same_from_there_on() -> None:
    air = an_air(np.linspace(10.0, 13.0, DAY), np.linspace(80.0, 95.0, DAY))
    whole, last = sweat_margin(air), sweat_margin(air, u_from=DAY - 1)
    np.testing.assert_array_equal(whole.k, last.k)
    assert np.isnan(last.u_k[:-1]).all()
    assert last.u_k[-1] == whole.u_k[-1]


def test_margin_of_wheels_is_as_uncertain_as_the_humidity() -> None:
    # One probe for both: at 12 degC 90 % a humidity error of 2 % is 2 * 0.1664 K (reference slope at that point), and
    # of 0.2 K only what the dew point does not follow, 1 - 0.9875, is left.
    margin = sweat_margin(an_air(np.full(2 * DAY, 12.0), np.full(2 * DAY, 90.0)))
    assert margin.u_k[-1] == pytest.approx(np.hypot(2 * 0.1664, 0.2 * (1 - 0.9875)), abs=1e-3)


# --- surface ---


def test_a_ceiling_below_the_dew_point_drips() -> None:
    n = 2 * DAY
    surface = np.where(np.arange(n) < DAY, 12.0, 9.0)
    [verdict] = judged(DRIP, an_air(np.full(n, 12.0), np.full(n, 88.0), surface_c=surface))
    # Dew point 10.08 degC: the hour's mean crosses it on the fourth step (12 - 4/6 * 3 = 10.0), one hour of grace.
    assert verdict.facts["since_ms"] == START_MS + (DAY + 3) * STEP_MS
    assert verdict.opened_ms == START_MS + (DAY + 3 + HOUR - 1) * STEP_MS
    assert verdict.facts["worst"] == pytest.approx(9 - float(dew_point_c(12, 88)), abs=1e-3)
    assert verdict.facts["plate_like"] is False


def test_margin_of_a_surface_adds_both_elements() -> None:
    # At 12 degC 88 %, air 0.2 K and 2 %, surface 0.5 K: dew point 0.39 K, margin 0.64 K (root of the sum of squares).
    margin = drip_margin(an_air(np.full(3, 12.0), np.full(3, 88.0), surface_c=np.full(3, 11.0)))
    assert margin.u_k[-1] == pytest.approx(0.64, abs=0.01)


def test_a_probe_on_the_cooling_plate_is_told_apart() -> None:
    n = 2 * DAY
    [verdict] = judged(DRIP, an_air(np.full(n, 12.0), np.full(n, 88.0), surface_c=np.full(n, 1.0)))
    assert verdict.facts["plate_like"] is True


def test_without_a_surface_probe_nothing_drips() -> None:
    assert judged(DRIP, an_air(np.full(DAY, 12.0), np.full(DAY, 100.0))) == []
    assert np.isnan(drip_margin(an_air(np.full(3, 12.0), np.full(3, 88.0))).k).all()


@pytest.mark.parametrize("rule", DEW_RULES, ids=lambda r: r.name)
def test_air_that_nobody_measured_here_makes_no_dew(rule: PlaceRule) -> None:
    air = replace(warmed(12, 18, 95), surface_c=None)
    assumed = an_air(
        air.temperature_c.mean, air.humidity_pct.mean, surface_c=np.full(len(air), 1.0), origin=Origin.ASSUMED
    )
    assert judged(rule, assumed) == []


def test_hours_of_dew_add_up_the_known_time_below() -> None:
    margin = drip_margin(an_air(np.full(4, 12.0), np.full(4, 88.0), surface_c=[9.0, 9.0, 12.0, np.nan]))
    hours = hours_below(margin, np.array([1.0, 0.5, 1.0, 0.0]))
    assert hours[:3].tolist() == [1 / 6, 0.5 / 6, 0.0]
    assert np.isnan(hours[3])


def test_dew_point_is_derived_before_it_is_averaged() -> None:
    # One cooling cycle, computed with Hyland-Wexler: dew point of the means 7.403, mean of the dew points 7.343 degC.
    t = np.array([8.0, 9, 10, 11, 12, 11, 10, 9])
    h = np.array([95.0, 90, 84, 78, 72, 78, 84, 90])
    margin = drip_margin(an_air(t, h, surface_c=np.full(8, 10.0)))
    assert 10 - margin.k.mean() == pytest.approx(7.343, abs=0.001)


# --- properties ---

LEVELS = st.tuples(
    st.sampled_from([8.0, 11.0, 12.0, 14.0, 17.0, np.nan]),
    st.sampled_from([70.0, 88.0, 96.0, 100.0, np.nan]),
    st.sampled_from([7.0, 10.0, 13.0]),
    st.sampled_from([1, 4, 12, 60, 200]),
)


def a_cave(runs: list[tuple[float, float, float, int]]) -> PlaceSituation:
    columns = [np.concatenate([np.full(run[3], run[i]) for run in runs]) for i in range(3)]
    return a_situation(an_air(columns[0], columns[1], surface_c=columns[2]))


@pytest.mark.parametrize("rule", DEW_RULES, ids=lambda r: r.name)
@settings(deadline=None)
@given(st.lists(LEVELS, min_size=1, max_size=12), st.data())
def test_judging_in_parts_says_what_one_pass_says(
    rule: PlaceRule, runs: list[tuple[float, float, float, int]], data: st.DataObject
) -> None:
    whole = a_cave(runs)
    cuts = data.draw(st.lists(st.integers(1, len(whole.air)), max_size=5))
    once = rule.judge(whole, None)
    assert judged_in_parts(rule, whole, cuts) == once
    step = data.draw(st.integers(0, len(whole.air) - 1))
    at_ms = int(whole.air.start_ms[step])
    carried = open_at(once, at_ms)
    again = rule.judge(part_of(whole, step, len(whole.air), rule.memory_ms), carried)
    assert finished_before(once, at_ms) + again == once


@given(st.floats(-5, 30), st.floats(20, 100), st.floats(0, 30))
def test_damper_air_never_has_more_margin(t: float, h: float, more: float) -> None:
    n = 5 * HOUR
    dry = sweat_margin(an_air(np.full(n, t), np.full(n, h))).k[-1]
    damp = sweat_margin(an_air(np.full(n, t), np.full(n, min(100.0, h + more)))).k[-1]
    assert damp <= dry + 1e-9
    assert dry >= -1e-6
