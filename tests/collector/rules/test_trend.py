import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import theilslopes

from collector.air.model import STEP_MS
from collector.rules.trend import (
    CONFIDENCE,
    FURTHEST_H,
    daily_course,
    hourly_medians,
    median_of_known,
    trend_at,
)
from tests.collector.rules.places import START_MS

HOURS = np.arange(10 * 24)
DAILY = 2 * np.sin(2 * np.pi * HOURS / 24)


def noise(seed: int = 3, size: float = 0.1) -> np.ndarray:
    return size * np.random.default_rng(seed).standard_normal(len(HOURS))


def test_hourly_medians_take_whole_hours_only() -> None:
    # From 00:20, so that the first whole hour is 01:00; the last one is cut off after four steps.
    start = START_MS + 2 * STEP_MS + STEP_MS * np.arange(4 + 6 + 6 + 4, dtype=np.int64)
    value = np.arange(20.0)
    value[10:14] = np.nan
    hours = hourly_medians(start, value)
    assert (hours.number - START_MS // 3_600_000).tolist() == [1, 2]
    assert hours.median[0] == 6.5  # of 4..9
    assert np.isnan(hours.median[1])  # two of six known


@given(st.lists(st.lists(st.sampled_from([1.0, 2.5, -3.0, np.nan]), min_size=5, max_size=5), min_size=1, max_size=20))
def test_median_of_known_agrees_with_numpy(rows: list[list[float]]) -> None:
    table = np.array(rows)
    ours = median_of_known(table, 2)
    for row, median in zip(table, ours, strict=True):
        known = row[~np.isnan(row)]
        assert (np.isnan(median)) if len(known) < 2 else (median == np.median(known))


def test_daily_course_is_found_and_begins_with_the_next_hour() -> None:
    course = daily_course(DAILY[: 7 * 24] + noise()[: 7 * 24])
    assert course == pytest.approx(DAILY[:24], abs=0.2)


def test_two_days_are_too_few_for_a_daily_course() -> None:
    assert not daily_course(DAILY[:48]).any()


def test_one_odd_day_does_not_bend_the_daily_course() -> None:
    odd = DAILY[: 7 * 24].copy()
    odd[48:60] += 30
    assert daily_course(odd) == pytest.approx(DAILY[:24], abs=0.5)


def test_slope_is_that_of_the_air_without_its_day() -> None:
    air = 86 + 0.05 * HOURS + DAILY + noise()
    trend = trend_at(air, len(HOURS) - 1, 1)
    assert trend is not None
    assert trend.line.slope == pytest.approx(0.05, abs=0.02)
    assert trend.line.low < 0.05 < trend.line.high


def test_slope_and_interval_are_those_of_scipy_where_nothing_repeats() -> None:
    # No daily course (two days of record), independent noise: scipy's interval is the one that is widened.
    air = 86 + 0.1 * HOURS[:48] + noise(5)[:48]
    trend = trend_at(air, 47, 1)
    assert trend is not None
    theirs = theilslopes(air[24:], np.arange(24.0), CONFIDENCE)
    assert trend.line.slope == pytest.approx(theirs.slope, abs=1e-12)
    assert trend.line.low <= theirs.low_slope + 1e-12
    assert trend.line.high >= theirs.high_slope - 1e-12


def test_a_day_alone_is_no_trend() -> None:
    trend = trend_at(86 + DAILY + noise(), len(HOURS) - 1, 1)
    assert trend is not None
    assert trend.line.low < 0 < trend.line.high


def test_hours_to_the_limit_are_those_of_the_line() -> None:
    # 48 hours of 0.1 an hour from 80: at the end 84.8, so 85.8 is 10 hours away, and 79 behind.
    trend = trend_at(80 + 0.1 * HOURS[:48] + 0.05, 47, 1)
    assert trend is not None
    assert trend.hours_to(85.8, 1, trend.line.slope) == pytest.approx(10, abs=0.01)
    assert trend.hours_to(79.0, -1, trend.line.slope) is None
    assert trend.hours_to(84.8 + 0.1 * (FURTHEST_H + 1), 1, trend.line.slope) is None


def test_the_daily_course_is_put_back_for_the_crossing() -> None:
    # A slope of 1 a day under a day of +-2: the limit 3 above is first met near a crest, before 3 days are over.
    air = 86 + HOURS / 24 + DAILY
    trend = trend_at(air, len(HOURS) - 1, 1)
    assert trend is not None
    ahead = np.arange(len(HOURS), len(HOURS) + FURTHEST_H) + 0.5
    level = 86 + HOURS[-1] / 24 + 3
    truth = int(np.argmax(86 + ahead / 24 + 2 * np.sin(2 * np.pi * ahead / 24) > level))
    assert trend.hours_to(level, 1, trend.line.slope) == pytest.approx(truth, abs=2)


def test_too_little_known_is_no_trend() -> None:
    air = 86 + 0.1 * HOURS[:48]
    air[30:40] = np.nan
    assert trend_at(air, 47, 1) is None
    assert trend_at(86 + 0.1 * HOURS[:20], 19, 1) is None
    gone = 86 + 0.1 * HOURS[:48]
    gone[45:] = np.nan
    assert trend_at(gone, 47, 1) is None


@given(st.integers(0, 2**32 - 1), st.floats(-50, 50), st.sampled_from([1, 3]))
def test_trend_of_the_mirrored_air_is_mirrored(seed: int, shift: float, hours_per_point: int) -> None:
    air = np.cumsum(np.random.default_rng(seed).standard_normal(len(HOURS)))
    one, other = trend_at(air, len(air) - 1, hours_per_point), trend_at(shift - air, len(air) - 1, hours_per_point)
    assert one is not None
    assert other is not None
    assert other.line.slope == pytest.approx(-one.line.slope, abs=1e-9)
    assert (other.line.low, other.line.high) == pytest.approx((-one.line.high, -one.line.low), abs=1e-6)
