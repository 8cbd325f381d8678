"""Spells and how they are laid along a record, against NumPy's own correlation and loops."""

import numpy as np
import pytest

from dashboard.lookback.exposures import EXPOSURES, HOUR_MS, Hours
from dashboard.lookback.spells import laid, spells_of


def a_record(value, name):
    return Hours(HOUR_MS * np.arange(len(value), dtype=np.int64), np.ones(len(value)), {name: value})


def test_weights_laid_along_a_record_are_a_correlation():
    drawn = np.random.default_rng(1)
    spells, weights = drawn.random(700), drawn.random(50)
    weights /= weights.sum()
    everywhere = np.arange(0, 651, dtype=np.int64)
    assert laid(spells, weights, everywhere) == pytest.approx(np.correlate(spells, weights, "valid"), abs=1e-12)


def test_beyond_the_record_lies_its_mean():
    spells, weights = np.array([0.0, 2.0, 4.0, 6.0]), np.array([0.5, 0.5])
    assert laid(spells, weights, np.array([-2, -1, 3, 4])) == pytest.approx([3.0, 1.5, 4.5, 3.0])


@pytest.mark.parametrize("name", [row.name for row in EXPOSURES])
def test_thirst_is_looked_for_in_weeks_and_everything_else_in_days_too(name):
    value = np.zeros(24 * 100)
    value[1_000:1_024] = 1.0
    # What lasted a day: of spans of a day it fills one whole, of a week a seventh.
    largest = max(one.max() for one in spells_of(a_record(value, name), name))
    assert largest == pytest.approx(1 / 7 if name == "mean_deficit_pa" else 1.0, rel=1e-9)


def test_spans_longer_than_the_record_are_left_out():
    value = np.arange(100.0)
    assert len(list(spells_of(a_record(value, "too_damp_h"), "too_damp_h"))) == 10
    assert not list(spells_of(a_record(value, "mean_deficit_pa"), "mean_deficit_pa"))
