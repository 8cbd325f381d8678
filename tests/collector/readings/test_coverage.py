"""Time-weighting: how long a value speaks, and means that do not depend on how often a probe looks."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from collector.readings.coverage import (
    UNKNOWN_HOLD_MS,
    guessed_spread,
    held_ms,
    last_hold_ms,
    spread_within,
    time_weighted,
    usual_gap_ms,
)

MINUTE = 60_000


def times(*minutes: float) -> np.ndarray:
    return np.array([int(m * MINUTE) for m in minutes], dtype=np.int64)


@given(st.lists(st.integers(1, 100_000), min_size=1, max_size=40))
def test_the_usual_gap_is_the_median_of_the_nine_before(gaps: list[int]) -> None:
    taken = np.cumsum([0, *gaps]).astype(np.int64)
    expected = [gaps[0]] + [float(np.median(gaps[max(0, i - 9) : i])) for i in range(1, len(taken))]
    assert usual_gap_ms(taken).tolist() == expected


def test_one_reading_alone_has_no_usual_gap_and_a_short_hold() -> None:
    assert np.isnan(usual_gap_ms(times(3))).all()
    assert held_ms(times(3), 99 * 3_600_000).tolist() == [UNKNOWN_HOLD_MS]


def test_nothing_holds_nothing() -> None:
    assert held_ms(times(), 5).tolist() == []


def test_a_value_is_held_for_three_usual_intervals_at_most() -> None:
    assert held_ms(times(0, 1, 2, 30), 60 * MINUTE).tolist() == [MINUTE, MINUTE, 3 * MINUTE, 3 * MINUTE]


def test_a_probe_that_reports_on_change_is_held_to_its_promise() -> None:
    held = held_ms(times(0, 14, 60), 200 * MINUTE, at_latest_every_ms=15 * MINUTE)
    assert held.tolist() == [14 * MINUTE, 30 * MINUTE, 30 * MINUTE]


def test_unknown_time_is_neither_zero_nor_the_last_value() -> None:
    taken = times(0, 1, 2)
    mean, covered = time_weighted(taken, held_ms(taken, 10**9), np.array([10.0, 10.0, 20.0]), times(0, 10, 20))
    assert covered.tolist() == [5 * MINUTE, 0]
    assert mean[0] == pytest.approx((10 + 10 + 20 * 3) / 5)
    assert np.isnan(mean[1])


@given(
    st.lists(st.tuples(st.integers(1, 400_000), st.floats(-20, 40)), min_size=2, max_size=50),
    st.integers(1, 9),
)
def test_means_agree_with_a_sum_second_by_second(steps: list[tuple[int, float]], buckets: int) -> None:
    taken = np.cumsum([gap for gap, _ in steps]).astype(np.int64) // 1_000 * 1_000
    taken = taken + np.arange(len(taken)) * 1_000
    value = np.array([v for _, v in steps])
    held = held_ms(taken, int(taken[-1]) + 10**6) // 1_000 * 1_000
    edges = np.linspace(0, taken[-1] // 1_000 + 60, buckets + 1).astype(np.int64) * 1_000
    mean, covered = time_weighted(taken, held, value, edges)
    seconds = np.full(int(edges[-1] // 1_000), np.nan)
    for start, length, v in zip(taken // 1_000, held // 1_000, value, strict=True):
        seconds[start : start + length] = v
    for i in range(buckets):
        inside = seconds[edges[i] // 1_000 : edges[i + 1] // 1_000]
        known = inside[~np.isnan(inside)]
        assert covered[i] == len(known) * 1_000
        if len(known):
            assert mean[i] == pytest.approx(known.mean(), abs=1e-6)


@pytest.mark.parametrize("pattern", ["10 s", "5 min", "uneven", "on change"])
def test_the_same_air_gives_the_same_means_however_often_it_is_looked_at(pattern: str) -> None:
    rng = np.random.default_rng(5)
    span_s = 6 * 3_600

    def air(t: np.ndarray) -> np.ndarray:
        return 85 + 5 * np.sin(2 * np.pi * t / 7_200)

    at_s = {
        "10 s": np.arange(0, span_s, 10),
        "5 min": np.arange(0, span_s, 300),
        "uneven": np.arange(0, span_s, 60) + rng.integers(0, 50, span_s // 60),
        "on change": np.unique(np.concatenate([[0], np.flatnonzero(np.diff(np.round(air(np.arange(span_s)) * 2)))])),
    }[pattern]
    promise = 900_000.0 if pattern == "on change" else None
    taken = (at_s * 1_000).astype(np.int64)
    edges = np.arange(0, span_s + 1, 3_600, dtype=np.int64) * 1_000
    mean, covered = time_weighted(taken, held_ms(taken, span_s * 1_000, promise), air(at_s), edges)
    truth = [air(np.arange(a, a + 3_600)).mean() for a in range(0, span_s, 3_600)]
    assert np.allclose(mean, truth, rtol=0.01)
    assert covered.min() >= 0.95 * 3_600_000


@given(st.lists(st.integers(1, 10_000_000), min_size=0, max_size=30), st.sampled_from([None, 900_000.0]))
def test_the_last_reading_alone_is_held_as_it_is_among_all(gaps: list[int], promised: float | None) -> None:
    taken = np.cumsum([1_700_000_000_000, *gaps]).astype(np.int64)
    far = int(taken[-1]) + 10**12
    assert int(last_hold_ms(taken.tolist(), promised)) == int(held_ms(taken, far, promised)[-1])


@given(
    st.lists(st.tuples(st.integers(1, 9), st.floats(-40, 110)), min_size=2, max_size=40),
    st.integers(1, 12),
)
def test_the_spread_of_a_bucket_is_the_standard_deviation_of_its_minutes(
    steps: list[tuple[int, float]], bucket: int
) -> None:
    taken = times(*np.cumsum([0, *(gap for gap, _ in steps[:-1])]))
    end = int(taken[-1]) // MINUTE + 1
    held = np.diff(np.append(taken, end * MINUTE))
    value = np.array([level for _, level in steps])
    edges = MINUTE * np.arange(0, end + bucket, bucket, dtype=np.int64)
    minutes = value[np.searchsorted(taken, MINUTE * np.arange(end), side="right") - 1]
    expected = [np.std(minutes[start : start + bucket]) for start in range(0, end, bucket)]
    found = spread_within(taken, held, value, edges)
    assert found[: len(expected)] == pytest.approx(expected, abs=1e-4)
    assert np.isnan(found[len(expected) :]).all()


def test_a_value_too_large_to_be_squared_has_no_spread() -> None:
    found = spread_within(times(0, 1), times(1, 1), np.array([1e200, np.inf]), times(0, 1, 2, 3))
    assert np.isnan(found).all()


@pytest.mark.parametrize("count", [2, 3, 10, 60])
def test_where_only_extremes_are_known_the_values_are_taken_to_rise_evenly(count: int) -> None:
    even = np.linspace(80, 90, count)
    found = guessed_spread(np.array([80.0]), np.array([90.0]), np.array([count]))
    assert found == pytest.approx([np.std(even)])
