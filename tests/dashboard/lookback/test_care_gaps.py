"""The longest time without a care."""

from dashboard.lookback.care_gaps import longest_gap_d, usual_gap_d
from dashboard.lookback.windows import DAY_MS, Window

TEN_DAYS = Window(100 * DAY_MS, 110 * DAY_MS)


def days(*numbers):
    return [round(n * DAY_MS) for n in numbers]


def test_the_longest_time_counts_from_the_last_before_the_window():
    assert longest_gap_d(days(95, 104, 106), TEN_DAYS) == 9.0
    assert longest_gap_d(days(99, 101, 102), TEN_DAYS) == 8.0


def test_what_was_never_done_counts_from_the_wheels_beginning():
    assert longest_gap_d([], TEN_DAYS, 90 * DAY_MS) == 20.0
    assert longest_gap_d([], TEN_DAYS) is None
    assert longest_gap_d(days(111), TEN_DAYS) is None


def test_the_usual_is_the_median_over_wheels_that_stood_there():
    done = {"a": days(*range(0, 300, 3)), "b": days(*range(0, 300, 7))}
    spans = {"a": Window(0, 300 * DAY_MS), "b": Window(0, 300 * DAY_MS), "late": Window(250 * DAY_MS, 300 * DAY_MS)}
    assert usual_gap_d(done, spans, [TEN_DAYS, Window(150 * DAY_MS, 160 * DAY_MS)]) == 5.0
    assert usual_gap_d(done, {}, [TEN_DAYS]) is None
