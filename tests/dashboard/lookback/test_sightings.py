"""When a cause may have begun: against delays drawn at random and sorted by when each is seen, and by hand."""

import numpy as np
import pytest

from dashboard.lookback.exposures import HOUR_MS
from dashboard.lookback.sightings import LATE, LATER, SLIPS, Sighting, when_begun
from dashboard.lookback.windows import DAY_MS, Window, window_before


def sighting(clean_d, seen_d, short_d=2.0, long_d=9.0):
    clean, seen = round(clean_d * DAY_MS), round(seen_d * DAY_MS)
    return Sighting(window_before(clean, seen, short_d, long_d), clean, seen, short_d, long_d)


def hours(first_d, last_d):
    return np.arange(first_d * DAY_MS, last_d * DAY_MS, HOUR_MS, dtype=np.int64)


def test_how_well_a_begin_fits_is_how_often_drawn_delays_are_seen_between_the_looks():
    drawn = np.random.default_rng(2)
    delay_d = drawn.uniform(2.0, 9.0, 200_000) * np.where(drawn.random(200_000) < LATE, LATER, 1.0)
    at_d = np.array([10.0, 14.0, 17.5, 20.0, 24.0])
    own = sighting(20, 25).fits((at_d * DAY_MS).astype(np.int64))
    counted = [((begin + delay_d > 20) & (begin + delay_d <= 25)).mean() for begin in at_d]
    assert own == pytest.approx(counted, abs=0.005)


def test_wheels_that_show_it_at_other_times_narrow_down_when_it_began():
    at_ms = hours(0, 40)
    alone = when_begun([sighting(20, 24)], at_ms)
    both = when_begun([sighting(20, 24), sighting(16, 18), sighting(22, 25)], at_ms)
    four_fifths = [int(np.searchsorted(np.cumsum(np.sort(w)[::-1]), 0.8)) for w in (alone, both)]
    assert alone.sum() == pytest.approx(1.0)
    assert both.sum() == pytest.approx(1.0)
    assert four_fifths[1] < 0.6 * four_fifths[0]
    # One shows by day 18 and takes two days at least, one not before day 22 and nine days at most.
    assert 13 <= at_ms[both.argmax()] / DAY_MS <= 16


def test_one_note_that_fits_nowhere_does_not_overrule_the_others():
    at_ms = hours(0, 60)
    three = [sighting(20, 22), sighting(21, 24), sighting(19, 23)]
    usual, with_it = when_begun(three, at_ms), when_begun([*three, sighting(45, 46)], at_ms)
    near = (at_ms >= 10 * DAY_MS) & (at_ms < 21 * DAY_MS)
    assert usual[near].sum() > 0.95
    assert with_it[near].sum() > 0.8
    assert 0 < SLIPS < 0.1


def test_nothing_begins_outside_the_windows():
    at_ms = hours(0, 60)
    cut = Sighting(Window(18 * DAY_MS, 23 * DAY_MS), 20 * DAY_MS, 25 * DAY_MS, 2.0, 9.0)
    weights = when_begun([cut], at_ms)
    assert weights[(at_ms < 18 * DAY_MS) | (at_ms >= 23 * DAY_MS)].sum() == 0
    assert not when_begun([cut], hours(40, 50)).any()


def test_a_note_that_shows_at_once_is_read_too():
    weights = when_begun([sighting(20, 21, 0.0, 0.0)], hours(15, 25))
    assert 20 <= hours(15, 25)[weights.argmax()] / DAY_MS <= 21
