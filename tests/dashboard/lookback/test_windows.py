"""Windows before a note and the windows they are held against."""

from datetime import UTC, datetime

import numpy as np
import pytest

from collector.records.columns import to_ms
from dashboard.lookback.exposures import HOUR_MS, Hours
from dashboard.lookback.windows import (
    DAY_MS,
    Window,
    against,
    apart_from,
    how_many_apart,
    season_of,
    stretches,
    window_before,
)

BEGIN_MS = to_ms(datetime(2023, 1, 1, tzinfo=UTC))


def record(days, value=None, known=None):
    n = days * 24
    level = np.zeros(n) if value is None else np.asarray(value, dtype=float)
    share = np.ones(n) if known is None else np.asarray(known, dtype=float)
    start = BEGIN_MS + HOUR_MS * np.arange(n, dtype=np.int64)
    return Hours(start, share, {"too_damp_h": level, "largest_fall_pct": level, "mean_deficit_pa": level})


def test_the_window_holds_every_time_at_which_the_cause_can_lie():
    window = window_before(20 * DAY_MS, 27 * DAY_MS, 2.0, 9.0)
    assert (window.from_ms, window.to_ms) == (11 * DAY_MS, 25 * DAY_MS)


def test_where_nobody_knows_when_it_was_clean_two_weeks_are_taken():
    assert window_before(None, 30 * DAY_MS, 2.0, 9.0) == Window(7 * DAY_MS, 28 * DAY_MS)


def test_a_window_is_never_shorter_than_a_day():
    assert window_before(10 * DAY_MS, 10 * DAY_MS, 3.0, 3.0).days == 1.0


@pytest.mark.parametrize(
    ("clean", "seen", "short", "long", "words"),
    [
        (5, 4, 1.0, 2.0, "clean_ms must be at most seen_ms 4, got 5"),
        (1, 4, 3.0, 2.0, "short_d must be from 0 to long_d 2 d, got 3"),
    ],
)
def test_what_cannot_be_is_refused(clean, seen, short, long, words):
    with pytest.raises(ValueError, match=words):
        window_before(clean, seen, short, long)


def test_sums_largest_and_means_of_a_window():
    value = np.zeros(240)
    value[100:110] = 1.0
    found = stretches(record(10, value), 2 * DAY_MS, BEGIN_MS + 90 * HOUR_MS)
    assert found.by_name["too_damp_h"][0] == pytest.approx(10.0)
    assert found.by_name["largest_fall_pct"][0] == 1.0
    assert found.by_name["mean_deficit_pa"][0] == pytest.approx(10 / 48)


def test_the_largest_of_every_window_is_that_of_its_hours():
    drawn = np.random.default_rng(2)
    value = drawn.normal(size=20 * 24)
    found = stretches(record(20, value), 77 * HOUR_MS, stride_h=1)
    naive = [value[i : i + 77].max() for i in range(20 * 24 - 76)]
    assert np.allclose(found.by_name["largest_fall_pct"], naive)


def test_a_window_outside_the_record_is_none():
    assert len(stretches(record(3), 2 * DAY_MS, BEGIN_MS + 2 * DAY_MS)) == 0
    assert len(stretches(record(3), 5 * DAY_MS)) == 0


def test_seasons_are_quarters_that_begin_in_december():
    months = [to_ms(datetime(2024, m, 15, tzinfo=UTC)) for m in range(1, 13)]
    assert season_of(np.array(months)).tolist() == [0, 0, 1, 1, 1, 2, 2, 2, 3, 3, 3, 0]


def test_before_two_years_the_whole_record_is_compared_with():
    found = stretches(record(200), 5 * DAY_MS)
    against_all = against(found, Window(BEGIN_MS + 50 * DAY_MS, BEGIN_MS + 55 * DAY_MS), 200.0)
    assert against_all.season == ""
    assert against_all.rows.all()


def test_from_two_years_on_only_the_same_season_is_compared_with():
    found = stretches(record(800), 5 * DAY_MS)
    spring = BEGIN_MS + 100 * DAY_MS
    seasonal = against(found, Window(spring, spring + 5 * DAY_MS), 800.0)
    middles = found.start_ms[seasonal.rows] + found.length_ms // 2
    assert seasonal.season == "spring"
    assert set(season_of(middles).tolist()) == {1}


def test_windows_without_readings_or_without_wheels_are_no_comparison():
    known = np.ones(30 * 24)
    known[240:480] = 0.0
    found = stretches(record(30, known=known), 4 * DAY_MS)
    rows = against(found, Window(BEGIN_MS, BEGIN_MS + 4 * DAY_MS), 30.0, [Window(0, BEGIN_MS + 12 * DAY_MS)]).rows
    taken = found.start_ms[rows]
    assert len(taken)
    assert taken.max() < BEGIN_MS + 10 * DAY_MS
    assert found.known[rows].min() >= 0.75


def test_windows_apart_do_not_touch():
    found = stretches(record(20), 5 * DAY_MS)
    window = Window(BEGIN_MS + 6 * DAY_MS, BEGIN_MS + 11 * DAY_MS)
    rows = apart_from(found, window)
    assert how_many_apart(found, rows) == 2
    assert how_many_apart(found, np.ones(len(found), dtype=bool)) == 4
