"""Few points for many steps: worked by hand, and what may never be lost."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from collector.readings.model import Values
from dashboard.charts.reduce import joined, reduce_steps, reduce_values

GAP = np.nan


def test_a_point_is_the_mean_by_time_known_and_the_extremes() -> None:
    mean, low, high = np.array([10.0, 13.0, 16.0]), np.array([9.0, 12.0, 15.0]), np.array([11.0, 14.0, 20.0])
    line = reduce_steps(mean, low, high, np.array([1.0, 0.5, 0.0]), 3)
    # (10 * 1 + 13 * 0.5) / 1.5; the last step's time is unknown.
    assert line.mean.tolist() == pytest.approx([11.0])
    assert (line.low.tolist(), line.high.tolist(), line.known.tolist()) == ([9.0], [20.0], [0.5])


def test_a_last_point_of_fewer_steps_stands_for_those() -> None:
    line = reduce_values(np.array([1.0, 3.0, 5.0]), np.ones(3), 2)
    assert (line.mean.tolist(), line.known.tolist()) == ([2.0, 5.0], [1.0, 1.0])


def test_unknown_time_is_a_gap_and_warns_nobody() -> None:
    line = reduce_values(np.array([GAP, GAP, 4.0, GAP]), np.array([0.0, 0.0, 1.0, 1.0]), 2)
    assert np.isnan(line.mean[0])
    assert np.isnan(line.low[0])
    assert (line.mean[1], line.known.tolist()) == (4.0, [0.0, 0.5])


def test_an_assumed_air_that_no_time_covers_is_its_plain_mean() -> None:
    line = reduce_values(np.array([18.0, 20.0]), np.zeros(2), 2)
    assert (line.mean.tolist(), line.known.tolist()) == ([19.0], [0.0])


def test_lines_join() -> None:
    one = reduce_values(np.array([1.0]), np.ones(1), 1)
    assert joined([one, one]).mean.tolist() == [1.0, 1.0]


def test_refuses_less_than_a_step() -> None:
    with pytest.raises(ValueError, match="per must be at least 1 step, got 0"):
        reduce_values(np.ones(3), np.ones(3), 0)


values = arrays(np.float64, st.integers(1, 60), elements=st.one_of(st.floats(-50, 50), st.just(GAP)))


@given(values, st.integers(1, 20))
def test_no_extreme_is_lost_and_every_mean_lies_between(value: Values, per: int) -> None:
    line = reduce_values(value, np.ones(len(value)), per)
    if np.isnan(value).all():
        assert line.is_empty
        return
    assert np.nanmin(line.low) == np.nanmin(value)
    assert np.nanmax(line.high) == np.nanmax(value)
    some = ~np.isnan(line.mean)
    assert (line.mean[some] >= line.low[some] - 1e-9).all()
    assert (line.mean[some] <= line.high[some] + 1e-9).all()
