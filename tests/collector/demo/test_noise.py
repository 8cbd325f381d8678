import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from collector.demo.noise import generator, turn, wander

HOUR_MS = 3_600_000


def test_the_same_three_give_the_same_numbers_and_each_of_them_counts():
    drawn = generator(7, "door", -3).random(8)
    assert (drawn == generator(7, "door", -3).random(8)).all()
    for other in (generator(8, "door", -3), generator(7, "lid", -3), generator(7, "door", -2)):
        assert not np.isin(drawn, other.random(8)).any()


def test_stretches_of_a_stream_do_not_overlap():
    first, second = (generator(7, "door", index).random(5000) for index in (0, 1))
    assert not np.isin(first, second).any()


@pytest.mark.parametrize("seed", [-1, 2**64])
def test_a_seed_that_no_generator_takes_is_refused(seed):
    with pytest.raises(ValueError, match=f"seed must be from 0 to 18446744073709551615, got {seed}"):
        generator(seed, "door", 0)


def test_a_knot_distance_of_nothing_is_refused():
    with pytest.raises(ValueError, match="knot_ms must be above 0, got 0"):
        wander(7, "x", np.array([0]), 0)


def test_the_wander_has_mean_0_and_variance_1_and_forgets_after_three_knots():
    # 4000 knots: the standard error of the mean is about 1 / sqrt(1000), of the variance twice that.
    at_ms = np.arange(0, 4000 * HOUR_MS, HOUR_MS // 4)
    course = wander(7, "x", at_ms, HOUR_MS)
    assert course.mean() == pytest.approx(0, abs=0.1)
    assert course.var() == pytest.approx(1, abs=0.1)
    assert np.corrcoef(course[:-4], course[4:])[0, 1] > 0.4
    assert abs(np.corrcoef(course[:-16], course[16:])[0, 1]) < 0.08


def test_the_wander_is_smooth():
    course = wander(7, "x", np.arange(0, 100 * HOUR_MS, 60_000), HOUR_MS)
    assert np.abs(np.diff(course)).max() < 0.08


@given(st.lists(st.integers(-(10**12), 2 * 10**12), min_size=1, max_size=4), st.integers(0, 400))
def test_the_wander_at_a_time_does_not_depend_on_the_other_times(starts, count):
    for start in starts:
        at_ms = start + 7_001 * np.arange(count + 1)
        whole = wander(3, "x", at_ms, HOUR_MS)
        assert (whole[count // 2 :] == wander(3, "x", at_ms[count // 2 :], HOUR_MS)).all()


def test_no_times_are_no_course():
    assert wander(7, "x", np.zeros(0, np.int64), HOUR_MS).size == 0


@given(st.floats(-1000, 1000))
def test_the_turn_is_the_cosine_of_whole_turns(phase):
    # numpy's own cosine is the judge.
    assert turn(np.array([phase]))[0] == pytest.approx(np.cos(2 * np.pi * phase), abs=5e-7)
