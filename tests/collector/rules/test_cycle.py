import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from collector.readings.model import Mark, Series
from collector.rules.cycle import (
    air_readings,
    counted,
    door_openings,
    find_cycles,
    turning_points,
    usual_range_k,
)
from tests.collector.rules.coolers import DAY_MIN, a_saw, a_series
from tests.collector.rules.places import START_MS


def minutes(n: int) -> np.ndarray:
    return START_MS + 60_000 * np.arange(n, dtype=np.int64)


@pytest.mark.parametrize(("length", "duty", "swing"), [(20, 0.3, 1.0), (40, 0.5, 2.0), (95, 0.2, 3.0), (60, 0.8, 0.8)])
def test_length_share_and_swing_of_a_saw_are_found(length: float, duty: float, swing: float) -> None:
    saw = a_saw(DAY_MIN, length_min=length, duty=duty, swing_k=swing, noise_k=0.02)
    cycles = find_cycles(minutes(DAY_MIN), saw)
    assert len(cycles) == pytest.approx(DAY_MIN / length - 1.5, abs=1.5)
    assert np.median(cycles.length_min) == pytest.approx(length, abs=1.1)
    assert np.median(cycles.duty) == pytest.approx(duty, abs=0.06)
    assert np.median(cycles.swing_k) == pytest.approx(swing, abs=0.12 * swing)


def test_a_still_cellar_has_no_cycle() -> None:
    still = 11 + 0.05 * np.random.default_rng(2).standard_normal(DAY_MIN)
    assert len(find_cycles(minutes(DAY_MIN), still)) == 0


def test_the_course_of_a_day_is_no_cycle() -> None:
    day = 11 + 1.0 * np.sin(2 * np.pi * np.arange(DAY_MIN) / DAY_MIN)
    assert len(find_cycles(minutes(DAY_MIN), day + 0.03 * np.random.default_rng(2).standard_normal(DAY_MIN))) == 0


def test_an_open_door_costs_a_cycle_or_two() -> None:
    saw = a_saw(DAY_MIN)
    saw[600:610] += 5
    cycles = find_cycles(minutes(DAY_MIN), saw)
    assert np.median(cycles.length_min) == pytest.approx(40, abs=1)
    assert len(cycles) >= DAY_MIN / 40 - 4


def test_a_gap_leaves_out_the_cycle_that_it_touches() -> None:
    saw, at = a_saw(DAY_MIN), minutes(DAY_MIN)
    keep = (np.arange(DAY_MIN) < 500) | (np.arange(DAY_MIN) >= 900)
    cycles = find_cycles(at[keep], saw[keep])
    assert cycles.length_min.max() < 45
    assert len(cycles) == pytest.approx((DAY_MIN - 400) / 40 - 3, abs=2)


def test_readings_too_seldom_for_the_cycle_find_none() -> None:
    saw = a_saw(DAY_MIN, length_min=30.0)
    assert len(find_cycles(minutes(DAY_MIN)[::8], saw[::8])) == 0


def test_turning_points_alternate_and_leave_out_the_ends() -> None:
    # By hand: up to 3, down to 0, up to 2; the ends 0 and 1 are no turns, the dip of 0.4 is none.
    turns = turning_points(minutes(8), np.array([0.0, 2.0, 1.6, 3.0, 1.0, 0.0, 2.0, 1.0]), 0.5)
    assert turns.at_ms.tolist() == minutes(8)[[3, 5, 6]].tolist()
    assert turns.temperature_c.tolist() == [3.0, 0.0, 2.0]
    assert turns.peak.tolist() == [True, False, True]


def test_turning_points_refuse_a_threshold_of_nothing() -> None:
    with pytest.raises(ValueError, match="threshold_k must be above 0 K, got 0"):
        turning_points(minutes(2), np.zeros(2), 0)


def test_usual_range_is_not_moved_by_one_door() -> None:
    saw = a_saw(DAY_MIN, noise_k=0.0)
    with_door = saw.copy()
    with_door[700:715] += 8
    assert usual_range_k(minutes(DAY_MIN), with_door) == pytest.approx(usual_range_k(minutes(DAY_MIN), saw), abs=0.05)
    assert usual_range_k(minutes(0), np.empty(0)) == 0


def test_nothing_read_has_no_cycles() -> None:
    assert len(find_cycles(minutes(0), np.empty(0))) == 0
    assert len(find_cycles(minutes(3), np.array([1.0, 9.0, 1.0]))) == 0


def test_readings_of_unknown_time_are_left_out() -> None:
    raw = a_series(np.array([1.0, 2.0, np.nan, 4.0]))
    late = Series(raw.taken_ms, raw.value, raw.unit, np.array([0, int(Mark.AT_THE_LATEST), 0, 0]), raw.units)
    taken, value = air_readings(late)
    assert value.tolist() == [1.0, 4.0]
    assert taken.tolist() == raw.taken_ms[[0, 3]].tolist()


def test_door_openings_tell_when_and_how_long() -> None:
    at, open_min = door_openings(minutes(8), np.array([0, 1, 1, 0, np.nan, 0, 1, 1.0]))
    assert at.tolist() == minutes(8)[[1, 6]].tolist()
    assert open_min[0] == 2
    assert np.isnan(open_min[1])


def test_a_door_open_at_the_first_reading_counts_from_there() -> None:
    at, open_min = door_openings(minutes(3), np.array([1.0, 1.0, 0.0]))
    assert at.tolist() == [START_MS]
    assert open_min.tolist() == [2.0]


def test_no_door_has_no_openings() -> None:
    at, open_min = door_openings(minutes(0), np.empty(0))
    assert len(at) == len(open_min) == 0


def test_openings_are_counted_by_day() -> None:
    edges = START_MS + 3_600_000 * np.arange(4, dtype=np.int64)
    assert counted(START_MS + np.array([0, 10, 3_600_000, 9_000_000]), edges).tolist() == [2, 1, 1]


@given(st.integers(0, 2**32 - 1), st.floats(0.3, 3))
def test_turns_come_back_by_the_threshold_each_time(seed: int, threshold: float) -> None:
    walk = np.cumsum(np.random.default_rng(seed).standard_normal(300))
    turns = turning_points(minutes(300), walk, threshold)
    assert (np.abs(np.diff(turns.temperature_c)) >= threshold - 1e-12).all()
    assert (turns.peak[1:] != turns.peak[:-1]).all()
    assert (np.diff(turns.at_ms) > 0).all()


@given(st.floats(15, 120), st.floats(0.15, 0.85), st.floats(0.8, 4), st.floats(-3, 3), st.integers(0, 99))
def test_cycles_do_not_depend_on_the_level(length: float, duty: float, swing: float, shift: float, seed: int) -> None:
    saw = a_saw(DAY_MIN, length_min=length, duty=duty, swing_k=swing, seed=seed)
    here, there = find_cycles(minutes(DAY_MIN), saw), find_cycles(minutes(DAY_MIN), np.round(saw + shift, 12))
    assert len(here) == len(there)
    assert ((here.duty > 0) & (here.duty < 1)).all()
    assert (here.swing_k > 0).all()
