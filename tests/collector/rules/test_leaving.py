"""Facts about the rule that foretells; what it must find and leave alone on whole caves is measured in the bench."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from collector.air.model import STEP_MS, Origin
from collector.rules.drift import DRIFT_RULES
from collector.rules.leaving import LEAVING
from collector.rules.model import PlaceSituation, Verdict
from collector.rules.outlook import HORIZON_H
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

QUIET_DAYS = 20


def a_quiet_cave(days: int = QUIET_DAYS + 6, seed: int = 4) -> np.ndarray:
    """Humidity of a still cave around 86 %, with a small day."""
    steps = np.arange(days * DAY)
    noise = np.random.default_rng(seed).standard_normal(len(steps))
    return 86 + 0.3 * np.sin(2 * np.pi * steps / DAY) + 0.2 * noise


def drifting(per_day: float, days: int = QUIET_DAYS + 6) -> np.ndarray:
    since = np.maximum(0, np.arange(days * DAY) - QUIET_DAYS * DAY) / DAY
    return a_quiet_cave(days) + per_day * since


def place(course: np.ndarray, **targets: object) -> PlaceSituation:
    return a_situation(an_air(np.full(len(course), 12.0), course), **targets)  # type: ignore[arg-type]


def judged(course: np.ndarray, **targets: object) -> list[Verdict]:
    return LEAVING.judge(place(course, **targets), None)


def day_of(ms: int | None) -> float:
    assert ms is not None
    return (ms - START_MS) / 86_400_000


@pytest.mark.parametrize(("per_day", "side"), [(2.0, "high"), (-2.0, "low")])
def test_a_drift_is_foretold_before_it_leaves_the_band(per_day: float, side: str) -> None:
    # 86 % with 2 % a day meets its limit, 4 % away, after two days.
    [verdict] = judged(drifting(per_day))
    assert QUIET_DAYS < day_of(verdict.opened_ms) < QUIET_DAYS + 1.6
    assert verdict.facts["side"] == side
    assert verdict.facts["quantity"] == "humidity"


def test_the_forecast_is_the_one_of_the_line() -> None:
    # Judged a day and a quarter after it began: 1.5 % or so are left at 2 % a day.
    humidity = drifting(2.0)[: (QUIET_DAYS + 1) * DAY + 6 * HOUR]
    [verdict] = judged(humidity)
    facts = verdict.facts
    truth = (90 - 86 - 2 * 1.25) / 2 * 24
    assert facts["limit"] == 90
    assert facts["per_day"] == pytest.approx(2.0, abs=0.7)
    assert facts["hours_to_limit"] == pytest.approx(truth, abs=7)
    assert facts["hours_least"] <= facts["hours_to_limit"] <= (facts["hours_most"] or np.inf)
    assert facts["hours_to_limit"] <= HORIZON_H
    assert facts["since_ms"] < verdict.opened_ms


def test_a_quiet_cave_is_left_alone() -> None:
    assert judged(a_quiet_cave()) == []


def test_a_strong_course_of_the_day_is_left_alone() -> None:
    steps = np.arange(26 * DAY)
    assert judged(86 + 3 * np.sin(2 * np.pi * steps / DAY)) == []


def test_a_move_that_stops_within_the_band_is_over_soon() -> None:
    humidity = np.minimum(drifting(3.0), 88.6 + 0.2 * np.random.default_rng(1).standard_normal((QUIET_DAYS + 6) * DAY))
    found = judged(humidity)
    assert all(verdict.facts["ended"] == "inside" for verdict in found)
    assert all(day_of(verdict.cleared_ms) < QUIET_DAYS + 4 for verdict in found)


def test_it_ends_as_left_when_the_drift_is_warned_of() -> None:
    humidity = drifting(3.0)
    [verdict] = judged(humidity)
    [drift] = next(rule for rule in DRIFT_RULES if rule.name == "too_damp").judge(place(humidity), None)
    assert verdict.facts["ended"] == "left"
    assert verdict.cleared_ms is not None
    assert 0 <= verdict.cleared_ms - drift.opened_ms <= 3_600_000


def test_air_that_comes_back_from_a_drift_is_not_foretold_again() -> None:
    humidity = a_quiet_cave()
    dry = slice(QUIET_DAYS * DAY, QUIET_DAYS * DAY + 2 * DAY)
    humidity[dry] -= np.linspace(0, 11, 2 * DAY)
    opened = [day_of(verdict.opened_ms) for verdict in judged(humidity)]
    assert all(day < QUIET_DAYS + 2 for day in opened)


def test_a_door_open_for_ten_minutes_is_left_alone() -> None:
    humidity = a_quiet_cave()
    humidity[[22 * DAY + 30, 22 * DAY + 80, 23 * DAY + 10]] = 60
    assert judged(humidity) == []


def test_a_target_changed_on_purpose_is_left_alone_while_the_air_moves_there() -> None:
    moving = np.clip((np.arange(26 * DAY) - QUIET_DAYS * DAY) / DAY, 0, 1)
    humidity = a_quiet_cave() - 8 * moving
    low = np.where(np.arange(26 * DAY) < QUIET_DAYS * DAY, 82.0, 74.0)
    assert judged(humidity, humidity=(low, low + 8)) == []


def test_a_place_without_a_target_has_no_outlook() -> None:
    assert judged(drifting(2.0), humidity=(np.nan, np.nan)) == []


def test_a_resting_place_has_no_outlook() -> None:
    assert judged(drifting(2.0), resting=True) == []


def test_too_short_a_record_says_nothing() -> None:
    assert judged(86 + 2.0 * np.arange(2 * DAY) / DAY) == []


def test_air_that_nobody_measured_here_has_no_outlook() -> None:
    air = an_air(np.full((QUIET_DAYS + 6) * DAY, 12.0), drifting(2.0), origin=Origin.PARENT)
    assert LEAVING.judge(a_situation(air), None) == []


def test_a_day_without_readings_loses_it() -> None:
    humidity = drifting(2.0)
    humidity[(QUIET_DAYS + 1) * DAY + 6 * HOUR :] = np.nan
    [verdict] = judged(humidity)
    assert verdict.facts["ended"] == "lost"


def test_rest_ends_it() -> None:
    resting = np.arange((QUIET_DAYS + 6) * DAY) >= (QUIET_DAYS + 1) * DAY + 6 * HOUR
    [verdict] = judged(drifting(2.0), resting=resting)
    assert verdict.facts["ended"] == "released"


def test_the_warmer_side_is_told_too() -> None:
    since = np.maximum(0, np.arange(26 * DAY) - QUIET_DAYS * DAY) / DAY
    temperature = 12 + 1.0 * since + 0.05 * np.random.default_rng(2).standard_normal(26 * DAY)
    [verdict] = LEAVING.judge(a_situation(an_air(temperature, a_quiet_cave())), None)
    assert (verdict.facts["quantity"], verdict.facts["side"], verdict.facts["unit"]) == ("temperature", "high", "Cel")


PIECES = st.lists(
    st.tuples(st.sampled_from([-3.0, 0.0, 2.0, 4.0]), st.sampled_from([HOUR, DAY, 2 * DAY]), st.booleans()), max_size=5
)


@settings(deadline=None, max_examples=30)
@given(PIECES, st.data())
def test_judging_in_parts_says_what_one_pass_says(pieces: list[tuple[float, int, bool]], data: st.DataObject) -> None:
    slopes = np.concatenate([np.zeros(12 * DAY), *(np.full(steps, slope / DAY) for slope, steps, _ in pieces)])
    gaps = np.concatenate([np.zeros(12 * DAY, dtype=bool), *(np.full(steps, gap) for _, steps, gap in pieces)])
    n = len(slopes)
    humidity = 86 + np.cumsum(slopes) + 0.15 * np.random.default_rng(data.draw(st.integers(0, 9))).standard_normal(n)
    humidity[gaps] = np.nan
    low = np.full(n, 82.0)
    low[data.draw(st.integers(12 * DAY, n)) :] += data.draw(st.sampled_from([0.0, 2.0]))
    whole = place(humidity, humidity=(low, low + 8))
    once = LEAVING.judge(whole, None)
    cuts = data.draw(st.lists(st.integers(1, n), max_size=5))
    assert judged_in_parts(LEAVING, whole, cuts) == once
    step = data.draw(st.integers(0, n - 1))
    at_ms = START_MS + step * STEP_MS
    again = LEAVING.judge(part_of(whole, step, n, LEAVING.memory_ms), open_at(once, at_ms))
    assert finished_before(once, at_ms) + again == once


@pytest.mark.parametrize("apart", [HOUR, DAY + 7])
def test_a_long_record_is_judged_alike_however_it_is_cut(apart: int) -> None:
    # A still cave that goes astray for two days every eight, up and down in turn, and comes back.
    steps = np.arange(50 * DAY)
    astray = np.clip(steps % (8 * DAY) - 6 * DAY, 0, 2 * DAY) / DAY * np.where(steps // (8 * DAY) % 2, 2.2, -2.2)
    whole = place(a_quiet_cave(50) + np.where(steps < 12 * DAY, 0, astray))
    once = LEAVING.judge(whole, None)
    assert len(once) >= 2
    assert judged_in_parts(LEAVING, whole, range(15 * DAY, 50 * DAY, apart)) == once
