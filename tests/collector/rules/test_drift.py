from dataclasses import replace

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from collector.air.model import STEP_MS, Origin
from collector.readings.coverage import held_ms, time_weighted
from collector.rules.drift import DRIFT_RULES, SIDES
from collector.rules.hourly import hourly_mean
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

RULES = {rule.name: rule for rule in DRIFT_RULES}


def judged(situation: PlaceSituation) -> dict[str, list[Verdict]]:
    found = {name: rule.judge(situation, None) for name, rule in RULES.items()}
    return {name: verdicts for name, verdicts in found.items() if verdicts}


def damp_from(step: int, n: int, pct: float = 94.0, before: float = 86.0) -> PlaceSituation:
    humidity = np.where(np.arange(n) < step, before, pct)
    return a_situation(an_air(np.full(n, 12.0), humidity))


@pytest.mark.parametrize(
    ("t", "h", "rule"),
    [(16, 86, "too_warm"), (8, 86, "too_cold"), (12, 95, "too_damp"), (12, 70, "too_dry")],
)
def test_each_side_has_its_rule(t: float, h: float, rule: str) -> None:
    assert set(judged(a_situation(an_air(np.full(DAY, float(t)), np.full(DAY, float(h)))))) == {rule}


def test_air_in_its_band_raises_nothing() -> None:
    assert judged(a_situation(an_air(np.full(DAY, 12.0), np.full(DAY, 86.0)))) == {}


def test_the_warning_waits_for_the_grace_and_ends_with_hysteresis() -> None:
    humidity = np.concatenate([np.full(DAY, 86.0), np.full(DAY, 94.0), np.full(3 * HOUR, 89.5), np.full(HOUR, 86.0)])
    [verdict] = judged(a_situation(an_air(np.full(len(humidity), 12.0), humidity)))["too_damp"]
    # The hourly mean passes 90 on the fourth damp step (86 + 4/6 * 8 = 91.3; after three it is 90.0 exactly).
    since = START_MS + (DAY + 3) * STEP_MS
    assert verdict.facts["since_ms"] == since
    assert verdict.opened_ms == since + (2 * HOUR - 1) * STEP_MS
    # At 89.5 it is inside but not by one point; the first step of 86.0 brings the hour's mean to 88.9.
    assert verdict.cleared_ms == START_MS + (2 * DAY + 3 * HOUR) * STEP_MS
    assert verdict.facts["ended"] == "inside"


def test_facts_are_those_of_the_spell() -> None:
    [verdict] = judged(damp_from(DAY, 2 * DAY))["too_damp"]
    facts = verdict.facts
    assert (facts["quantity"], facts["unit"], facts["side"]) == ("humidity", "%RH", "high")
    assert (facts["limit"], facts["worst"], facts["last"]) == (90.0, 94.0, 94.0)
    # Three steps of the mean are on their way (1.333, 2.667 above), the others 4 points above.
    assert facts["outside_h"] == pytest.approx((DAY - 3) / 6)
    assert facts["dose"] == pytest.approx((4 / 3 + 8 / 3 + 4 * (DAY - 5)) / 6, abs=0.002)
    assert facts["mean"] == pytest.approx((91 + 1 / 3 + 92 + 2 / 3 + 94 * (DAY - 5)) / (DAY - 3), abs=0.001)
    assert facts["heading"] == "steady"
    assert facts["unknown_h"] == 0
    assert verdict.cleared_ms is None
    assert "ended" not in facts


@pytest.mark.parametrize(("last", "heading"), [(95.5, "away"), (91.0, "back"), (94.1, "steady")])
def test_heading_tells_where_the_air_goes(last: float, heading: str) -> None:
    humidity = np.concatenate([np.full(DAY, 94.0), np.full(2 * HOUR, last)])
    [verdict] = judged(a_situation(an_air(np.full(len(humidity), 12.0), humidity)))["too_damp"]
    assert verdict.facts["heading"] == heading


def test_a_compressor_at_target_opens_nothing() -> None:
    # A converted fridge: every half hour 3 K and 12 points of humidity, around 12 degC and 86 %.
    minutes = np.arange(3 * 1440)
    wave = np.sin(2 * np.pi * minutes / 30)
    step = (minutes // 10).reshape(-1, 10)[:, 0]
    t = (12 + 1.5 * wave).reshape(-1, 10).mean(axis=1)
    h = (86 - 6 * wave).reshape(-1, 10).mean(axis=1)
    assert len(step) == len(t)
    assert h.max() > 90
    assert judged(a_situation(an_air(t, h))) == {}


def test_a_door_open_for_ten_minutes_opens_nothing() -> None:
    h, t = np.full(DAY, 89.0), np.full(DAY, 13.0)
    h[60], t[60] = 60.0, 22.0
    assert judged(a_situation(an_air(t, h))) == {}


def test_a_resting_place_has_no_drift() -> None:
    air = an_air(np.full(2 * DAY, 25.0), np.full(2 * DAY, 50.0))
    assert judged(a_situation(air, resting=True)) == {}


def test_rest_ends_an_open_warning() -> None:
    situation = damp_from(0, 2 * DAY)
    resting = np.arange(2 * DAY) >= DAY
    [verdict] = judged(replace(situation, resting=resting))["too_damp"]
    assert verdict.cleared_ms == START_MS + DAY * STEP_MS
    assert verdict.facts["ended"] == "released"


def test_a_cleaning_day_raises_nothing_and_neither_does_the_way_back() -> None:
    t = np.concatenate([np.full(DAY, 12.0), np.full(8 * HOUR, 22.0), np.linspace(22, 12, 5 * HOUR), np.full(DAY, 12.0)])
    resting = np.zeros(len(t), dtype=bool)
    resting[DAY : DAY + 8 * HOUR] = True
    assert judged(a_situation(an_air(t, np.full(len(t), 86.0)), resting=resting)) == {}


def test_a_fridge_left_off_after_cleaning_is_noticed() -> None:
    t = np.concatenate([np.full(DAY, 12.0), np.full(2 * DAY, 22.0)])
    resting = np.zeros(len(t), dtype=bool)
    resting[DAY : DAY + 8 * HOUR] = True
    [verdict] = judged(a_situation(an_air(t, np.full(len(t), 86.0)), resting=resting))["too_warm"]
    rest_over = START_MS + (DAY + 8 * HOUR) * STEP_MS
    assert 6 <= (verdict.opened_ms - rest_over) / 3_600_000 <= 8


def test_a_target_changed_on_purpose_has_a_day_to_take_effect() -> None:
    t = np.concatenate([np.full(DAY, 12.0), np.linspace(12, 8, 20 * HOUR), np.full(DAY, 8.0)])
    low = np.where(np.arange(len(t)) < DAY, 10.0, 6.0)
    situation = a_situation(an_air(t, np.full(len(t), 86.0)), temperature=(low, low + 4))
    assert judged(situation) == {}


def test_air_that_was_outside_the_old_band_too_stays_a_drift() -> None:
    t = np.full(3 * DAY, 16.0)
    low = np.where(np.arange(len(t)) < DAY, 10.0, 6.0)
    [verdict] = judged(a_situation(an_air(t, np.full(len(t), 86.0)), temperature=(low, low + 4)))["too_warm"]
    assert verdict.opened_ms < START_MS + DAY * STEP_MS
    assert verdict.cleared_ms is None


def test_a_changed_target_that_is_not_reached_in_a_day_is_a_drift() -> None:
    t = np.full(3 * DAY, 12.0)
    low = np.where(np.arange(len(t)) < DAY, 10.0, 6.0)
    [verdict] = judged(a_situation(an_air(t, np.full(len(t), 86.0)), temperature=(low, low + 4)))["too_warm"]
    assert verdict.facts["since_ms"] == START_MS + (2 * DAY - 1) * STEP_MS


def test_a_band_open_to_one_side_is_judged_on_the_other_only() -> None:
    air = an_air(np.full(DAY, 5.0), np.full(DAY, 99.0))
    assert set(judged(a_situation(air, temperature=(np.nan, 14.0), humidity=(82.0, np.nan)))) == set()


def test_a_narrow_band_still_has_an_inside() -> None:
    t = np.concatenate([np.full(DAY, 13.0), np.full(DAY, 12.0)])
    situation = a_situation(an_air(t, np.full(2 * DAY, 86.0)), temperature=(11.9, 12.1))
    [verdict] = judged(situation)["too_warm"]
    assert verdict.cleared_ms is not None


@pytest.mark.parametrize("origin", [Origin.PARENT, Origin.ASSUMED, Origin.UNKNOWN])
def test_air_that_nobody_measured_here_is_no_evidence(origin: Origin) -> None:
    assert judged(a_situation(an_air(np.full(DAY, 25.0), np.full(DAY, 50.0), origin=origin))) == {}


def test_typed_readings_are_evidence() -> None:
    assert "too_warm" in judged(a_situation(an_air(np.full(DAY, 25.0), np.full(DAY, 86.0), origin=Origin.TYPED)))


def test_a_warning_is_lost_after_a_day_without_readings() -> None:
    h = np.concatenate([np.full(DAY, 95.0), np.full(2 * DAY, np.nan)])
    [verdict] = judged(a_situation(an_air(np.full(len(h), 12.0), h)))["too_damp"]
    assert verdict.facts["ended"] == "lost"
    assert verdict.facts["last"] == 95.0
    assert verdict.cleared_ms is not None


def test_hourly_mean_is_weighted_by_the_time_known() -> None:
    # By hand: five steps of 10 known for their whole length, one of 40 known for a fifth: (50 + 8) / 5.2.
    mean = hourly_mean(np.array([10.0, 10, 10, 10, 10, 40]), np.array([1, 1, 1, 1, 1, 0.2]))
    assert mean[-1] == pytest.approx(58 / 5.2)


def test_hourly_mean_needs_half_an_hour() -> None:
    value = np.array([np.nan, np.nan, np.nan, 5.0, 5.0, 5.0])
    known = np.array([0, 0, 0, 1, 1, 0.9])
    assert np.isnan(hourly_mean(value, known)).all()
    assert hourly_mean(value, np.ceil(known))[-1] == 5.0


def test_hourly_mean_refuses_shapes_that_differ() -> None:
    with pytest.raises(ValueError, match=r"known must have the shape of value \(3,\), got \(2,\)"):
        hourly_mean(np.zeros(3), np.ones(2))


HOURS = 12


def the_same_air(seconds: np.ndarray) -> np.ndarray:
    """A slow course with a half-hour cycle on it, as the probe's place has it whoever asks when."""
    return 86 + 3 * np.sin(2 * np.pi * seconds / 86_400) + 1.5 * np.sin(2 * np.pi * seconds / 2_400)


def hourly_means_of(seconds: np.ndarray, at_latest_every_ms: float | None = None) -> np.ndarray:
    taken = START_MS + np.round(seconds * 1000).astype(np.int64)
    edges = START_MS + STEP_MS * np.arange(HOURS * HOUR + 1, dtype=np.int64)
    held = held_ms(taken, int(edges[-1]), at_latest_every_ms)
    mean, covered = time_weighted(taken, held, the_same_air(seconds), edges)
    return hourly_mean(mean, covered / STEP_MS)


def uneven(rng: np.random.Generator) -> np.ndarray:
    times = np.cumsum(rng.choice([20.0, 40.0, 60.0, 90.0, 150.0], size=3_000))
    return np.concatenate([[0.0], times[times < HOURS * 3600]])


def on_change() -> np.ndarray:
    every_second = np.arange(0, HOURS * 3600.0)
    kept, last = [], np.inf
    for second, value in zip(every_second, the_same_air(every_second), strict=True):
        if abs(value - last) >= 0.2:
            kept.append(second)
            last = value
    return np.array(kept)


@pytest.mark.parametrize(
    ("seconds", "at_latest"),
    [
        (np.arange(0, HOURS * 3600, 300.0), None),
        (uneven(np.random.default_rng(5)), None),
        (on_change(), 3_600_000.0),
    ],
    ids=["every 5 min", "uneven", "on change"],
)
def test_the_same_air_gives_the_same_hourly_means_however_it_is_sampled(
    seconds: np.ndarray, at_latest: float | None
) -> None:
    every_ten_seconds = hourly_means_of(np.arange(0, HOURS * 3600, 10.0))
    other = hourly_means_of(seconds, at_latest)
    settled = slice(HOUR, None)
    assert not np.isnan(other[settled]).any()
    assert np.abs(other[settled] / every_ten_seconds[settled] - 1).max() < 0.01


# --- properties -----------------------------------------------------------------------------------------------------

LEVELS = st.sampled_from([70.0, 81.0, 82.0, 82.5, 86.0, 89.4, 90.0, 90.4, 97.0, np.nan])
COURSES = st.lists(st.tuples(LEVELS, st.sampled_from([1, 3, 6, 20, 150, 400])), min_size=1, max_size=14)


def a_course_of_events(runs: list[tuple[float, int]], data: st.DataObject) -> PlaceSituation:
    humidity = np.concatenate([np.full(times, level) for level, times in runs])
    n = len(humidity)
    targets = data.draw(st.lists(st.tuples(st.integers(0, n), st.sampled_from([0.0, 3.0, -4.0, np.nan])), max_size=3))
    high = np.full(n, 90.0)
    for at, shift in targets:
        high[at:] = 90.0 + shift
    rest_at, rest_for = data.draw(st.tuples(st.integers(0, n), st.sampled_from([0, 10, 100])))
    resting = (np.arange(n) >= rest_at) & (np.arange(n) < rest_at + rest_for)
    grace = data.draw(st.sampled_from([0.0, 1.0, 2.0, 30.0]))
    start_ms = START_MS + data.draw(st.integers(0, 6)) * DAY * STEP_MS  # so that the ledger's week ends anywhere
    return a_situation(
        an_air(np.where(np.isnan(humidity), np.nan, 12.0), humidity, start_ms=start_ms),
        humidity=(high - 8, high),
        grace_h=grace,
        resting=resting,
    )


@pytest.mark.parametrize("rule", [r for r in DRIFT_RULES if r.name in ("too_damp", "too_dry")], ids=lambda r: r.name)
@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(COURSES, st.data())
def test_judging_in_parts_says_what_one_pass_says(
    rule: PlaceRule, runs: list[tuple[float, int]], data: st.DataObject
) -> None:
    whole = a_course_of_events(runs, data)
    cuts = data.draw(st.lists(st.integers(1, len(whole.air)), max_size=6))
    assert judged_in_parts(rule, whole, cuts) == rule.judge(whole, None)


@pytest.mark.parametrize("apart", [HOUR, DAY, 11 * DAY])
def test_a_spell_of_many_weeks_adds_up_alike_however_it_is_cut(apart: int) -> None:
    rng = np.random.default_rng(8)
    n = 40 * DAY
    humidity = np.where(np.arange(n) < DAY, 86.0, 95 + rng.standard_normal(n))
    humidity[rng.random(n) < 0.1] = np.nan
    whole = a_situation(an_air(np.full(n, 12.0), humidity))
    rule = RULES["too_damp"]
    once = rule.judge(whole, None)
    assert [v.cleared_ms for v in once] == [None]
    assert len(once[0].facts["ledger"]) == 6  # the Thursdays from 5 March to 9 April, as weeks are counted from 1970
    assert judged_in_parts(rule, whole, range(7, n, apart)) == once


@settings(deadline=None)
@given(COURSES, st.data())
def test_judging_again_from_any_step_changes_nothing(runs: list[tuple[float, int]], data: st.DataObject) -> None:
    rule = RULES["too_damp"]
    whole = a_course_of_events(runs, data)
    once = rule.judge(whole, None)
    step = data.draw(st.integers(0, len(whole.air) - 1))
    at_ms = int(whole.air.start_ms[step])
    carried = open_at(once, at_ms)
    again = rule.judge(part_of(whole, step, len(whole.air), rule.memory_ms), carried)
    assert finished_before(once, at_ms) + again == once


@given(st.floats(60, 100), st.floats(0, 10))
def test_damper_air_never_has_less_dose(pct: float, more: float) -> None:
    one = RULES["too_damp"].judge(damp_from(0, DAY, pct), None)
    other = RULES["too_damp"].judge(damp_from(0, DAY, min(100.0, pct + more)), None)
    dose = [sum(v.facts["dose"] for v in verdicts) for verdicts in (one, other)]
    assert dose[0] <= dose[1] + 1e-6


@given(COURSES, st.data())
def test_facts_stay_within_the_air(runs: list[tuple[float, int]], data: st.DataObject) -> None:
    situation = a_course_of_events(runs, data)
    for verdict in RULES["too_damp"].judge(situation, None):
        facts = verdict.facts
        assert facts["since_ms"] <= verdict.opened_ms
        assert facts["limit"] is None or facts["worst"] <= np.nanmax(situation.air.humidity_pct.mean) + 1e-6
        assert 0 < facts["outside_h"] <= (len(situation.air) * STEP_MS) / 3_600_000 + 1e-6
        assert facts["dose"] >= 0


def test_a_row_for_each_side() -> None:
    assert [rule.name for rule in DRIFT_RULES] == [side.rule for side in SIDES]


def test_carried_facts_of_a_spell_that_ended_meanwhile_do_not_linger() -> None:
    whole = damp_from(0, 3 * DAY)
    ended = Verdict("too_damp", START_MS, START_MS + DAY * STEP_MS, {"since_ms": START_MS, "ended": "inside"})
    [verdict] = RULES["too_damp"].judge(part_of(whole, DAY, 3 * DAY, RULES["too_damp"].memory_ms), ended)
    assert "ended" not in verdict.facts
    assert verdict.cleared_ms is None
