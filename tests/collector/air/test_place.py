"""The middle of several probes, against numpy's own median."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from collector.air.channel import Stretch
from collector.air.model import Origin
from collector.air.place import course
from collector.readings.model import Channel, Values

STEPS = 6


def stretch(number: int, mean: Values) -> Stretch:
    channel = Channel(number, f"probe-{number}", "temperature", "temperature", "Cel", 0)
    return Stretch(
        channel, mean, mean - 1, mean + 1, np.full(STEPS, 0.5), np.full(STEPS, 600_000.0), np.full(STEPS, 0.3)
    )


@given(
    st.lists(arrays(np.float64, STEPS, elements=st.one_of(st.floats(-20, 40), st.just(np.nan))), min_size=2, max_size=5)
)
def test_several_probes_are_their_median_and_a_gap_only_where_all_are(means: list[Values]) -> None:
    grid = 600_000 * np.arange(STEPS, dtype=np.int64)
    found = course([stretch(i, mean) for i, mean in enumerate(means)], [], grid)
    table = np.array(means)
    known = ~np.isnan(table).all(axis=0)
    assert np.isnan(found.mean).tolist() == (~known).tolist()
    np.testing.assert_allclose(found.mean[known], np.nanmedian(table[:, known], axis=0), atol=1e-12)
    assert (found.origin[known] == Origin.MEDIAN).all()


def test_two_probes_that_differ_leave_the_truth_anywhere_between_them() -> None:
    grid = 600_000 * np.arange(STEPS, dtype=np.int64)
    found = course([stretch(1, np.full(STEPS, 10.0)), stretch(2, np.full(STEPS, 13.0))], [], grid)
    # A rectangular distribution of width 3 has the standard deviation 3 / sqrt(12) (JCGM 100:2008, 4.3.7).
    np.testing.assert_allclose(found.uncertainty, np.hypot(0.3, 3 / np.sqrt(12)))


def test_of_three_probes_the_middle_one_is_held_by_its_neighbours() -> None:
    grid = 600_000 * np.arange(STEPS, dtype=np.int64)
    found = course([stretch(i, np.full(STEPS, mean)) for i, mean in enumerate((10.0, 10.2, 16.0))], [], grid)
    np.testing.assert_allclose(found.uncertainty, 0.3)
