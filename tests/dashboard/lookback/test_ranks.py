"""Ranks of one window, and the windows that are like it."""

import numpy as np
import pytest
from scipy.stats import percentileofscore

from dashboard.lookback.exposures import HOUR_MS, Hours
from dashboard.lookback.leads import LEADS, lead_of
from dashboard.lookback.ranks import ranks, share_below
from dashboard.lookback.similar import similar
from dashboard.lookback.windows import DAY_MS, Window, apart_from, stretches
from dashboard.wheels.kinds.rind import RIND_KINDS


def record(days=60):
    n = days * 24
    damp, deficit = np.zeros(n), np.full(n, 200.0) + np.random.default_rng(1).normal(size=n)
    damp[240:300] = 1.0
    damp[900:950] = 1.0
    deficit[240:300] = deficit[900:950] = 60.0
    return Hours(HOUR_MS * np.arange(n, dtype=np.int64), np.ones(n), {"too_damp_h": damp, "mean_deficit_pa": deficit})


def at(hours, begin_h, days=5):
    own = stretches(hours, days * DAY_MS, begin_h * HOUR_MS)
    pool = stretches(hours, days * DAY_MS)
    window = Window(begin_h * HOUR_MS, begin_h * HOUR_MS + days * DAY_MS)
    return own, pool, apart_from(pool, window)


def test_a_share_is_a_percentile_of_scipy_with_half_of_the_same():
    others = np.array([0.0, 0, 1, 2, 2, 2, 5, 9])
    for value in (0.0, 2.0, 3.0, 9.0, 12.0):
        assert share_below(value, others) == pytest.approx(percentileofscore(others, value, kind="mean") / 100)


def test_the_most_unusual_goes_first_in_hours_and_in_shares():
    found = ranks(*at(record(), 220))
    assert found.ranks[0].unusual
    damp = next(one for one in found.ranks if one.name == "too_damp_h")
    assert (damp.value, damp.usual, damp.side) == (pytest.approx(60.0), 0.0, "more")
    assert found.enough
    assert found.apart < found.others


def test_air_that_takes_nothing_is_as_telling_as_air_that_takes_much():
    deficit = next(one for one in ranks(*at(record(), 220)).ranks if one.name == "mean_deficit_pa")
    assert deficit.side == "less"
    assert deficit.share > 0.9


def test_the_other_spell_is_found_and_no_window_twice():
    found = similar(*at(record(), 220))
    assert found
    assert any(900 <= one.window.to_ms / HOUR_MS <= 1070 for one in found)
    for i, one in enumerate(found):
        assert not any(one.window.overlap_ms(other.window) for other in found[:i])
    assert [one.distance for one in found] == sorted(one.distance for one in found)


def test_a_record_without_another_window_has_no_like():
    own, pool, rows = at(record(), 220)
    assert similar(own, pool, np.zeros_like(rows)) == []


def test_every_lead_time_is_of_a_kind_of_note_and_the_right_way_round():
    assert set(LEADS) <= set(RIND_KINDS)
    assert all(0 <= lead.short_d <= lead.long_d for lead in LEADS.values())
    assert lead_of("a word of our own").long_d > 0
