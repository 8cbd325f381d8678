"""Spells and how they are laid along a record, against NumPy's own correlation and loops."""

import numpy as np
import pytest

from dashboard.lookback.exposures import EXPOSURES, HOUR_MS, Hours
from dashboard.lookback.spells import all_spells, spells_of


def a_record(value, name):
    return Hours(HOUR_MS * np.arange(len(value), dtype=np.int64), np.ones(len(value)), {name: value})


def weights_of(count, drawn):
    weights = drawn.random(count)
    return weights / weights.sum()


@pytest.mark.parametrize("first", [0, 4, 13])
def test_weights_laid_along_a_record_are_a_correlation(first):
    drawn = np.random.default_rng(1)
    hours, weights = a_record(drawn.random(700), "too_damp_h"), weights_of(50, drawn)
    record = all_spells(hours, "too_damp_h", 80)
    own = record.weighed(weights, first, 100)
    for kind, spells in enumerate(spells_of(hours, "too_damp_h")):
        every = np.correlate(spells, weights, "valid")
        assert own[kind] == pytest.approx(every[first : first + 600 : 6], abs=1e-12)
        assert record.weighed_at(weights, first + 7)[kind] == pytest.approx(every[first + 7], abs=1e-12)


def test_beyond_the_record_lies_its_mean():
    drawn = np.random.default_rng(2)
    hours, weights = a_record(drawn.random(600), "too_damp_h"), weights_of(90, drawn)
    record = all_spells(hours, "too_damp_h", 90)
    (spells, *_), places = spells_of(hours, "too_damp_h"), (-88, -1, 550, 599)
    padded = np.concatenate([np.full(90, spells.mean()), spells, np.full(90, spells.mean())])
    for first in places:
        by_hand = padded[90 + first : 180 + first] @ weights
        assert record.weighed(weights, first, 1)[0, 0] == pytest.approx(by_hand, abs=1e-12)
        assert record.weighed_at(weights, first)[0] == pytest.approx(by_hand, abs=1e-12)


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
    assert not len(all_spells(a_record(value, "mean_deficit_pa"), "mean_deficit_pa", 50).begun)
