"""The harness itself: the same seed gives the same cave, and the planted spell is there in the air."""

import numpy as np
import pytest

from tests.dashboard.lookback.planted.air import BAND_PCT, DAY_STEPS, KINDS, apart
from tests.dashboard.lookback.planted.marking import Answer, mark
from tests.dashboard.lookback.planted.worlds import NO_AIR, world


def test_the_same_seed_gives_the_same_cave():
    one, other = world(3, 182, 3, "damp"), world(3, 182, 3, "damp")
    assert one.notes == other.notes
    assert np.array_equal(one.humidity_pct, other.humidity_pct, equal_nan=True)


@pytest.mark.parametrize("kind", [*KINDS, *NO_AIR])
def test_every_note_was_seen_after_the_wheel_was_clean(kind):
    asked = world(1, 365, 5, kind)
    assert asked.notes
    assert all(note.clean_ms < note.seen_ms for note in asked.notes)
    assert bool(asked.cause) == (kind in KINDS)


def test_damp_comes_before_the_notes_it_left_more_often_than_at_other_times():
    before, at_all = [], []
    for seed in range(12):
        asked = world(seed, 365, 5, "damp")
        damp = np.nan_to_num(asked.humidity_pct) > BAND_PCT[1] + 2
        at_all.append(damp.mean())
        for note in asked.notes:
            end = np.searchsorted(asked.grid_ms, note.seen_ms) - int(note.short_d * DAY_STEPS)
            before.append(damp[max(0, end - 14 * DAY_STEPS) : end].mean())
    assert np.mean(before) > 2 * np.mean(at_all)


def test_days_that_do_not_fit_are_refused():
    with pytest.raises(ValueError, match=r"count of days must fit into 100 days .* got 9"):
        apart(np.random.default_rng(0), 100, 9, 15.0)


def test_a_method_that_guesses_is_marked_as_one():
    marks = mark(lambda _: Answer("too_damp_h", stands_out=True), "damp", 182, 1, range(3))
    assert (marks.named_first, marks.stood_out, marks.falsely) == (3, 3, 0)
    marks = mark(lambda _: Answer("too_damp_h", stands_out=True), "chance", 182, 1, range(3))
    assert (marks.named_first, marks.stood_out, marks.falsely) == (0, 0, 3)
