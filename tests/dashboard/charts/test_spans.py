"""Windows of time: their ends, their steps, and how finely they are drawn."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collector.air.model import STEP_MS
from dashboard.charts.spans import DAY_MS, POINTS, SPANS, earlier, later, linked, window

NOW_MS = 1_773_324_600_000
FIRST_MS = NOW_MS - 3 * 365 * DAY_MS


@pytest.mark.parametrize(
    ("span", "points"), [("hour", 6), ("day", 144), ("week", 504), ("month", 864), ("season", 936), ("year", 991)]
)
def test_a_line_has_at_most_a_thousand_points(span: str, points: int) -> None:
    shown = window(span, NOW_MS, FIRST_MS)
    assert shown.length_ms // shown.bucket_ms == points <= POINTS
    assert shown.bucket_ms % STEP_MS == 0


@given(st.integers(STEP_MS, 30 * 365 * DAY_MS))
def test_however_long_it_is_a_line_stays_short_and_begins_in_time(length_ms: int) -> None:
    shown = linked(NOW_MS - length_ms, NOW_MS, NOW_MS)
    assert shown.length_ms / shown.bucket_ms <= POINTS
    assert shown.start_ms <= shown.from_ms < shown.start_ms + shown.bucket_ms


def test_everything_begins_with_the_first_reading() -> None:
    assert window("all", NOW_MS, FIRST_MS).from_ms == FIRST_MS
    assert window("all", NOW_MS, NOW_MS).length_ms == DAY_MS


def test_steps_lead_back_and_forth_to_the_same_stretch() -> None:
    shown = window("week", NOW_MS, FIRST_MS)
    assert (shown.live, later(shown, NOW_MS)) == (True, None)
    back = window("week", NOW_MS, FIRST_MS, earlier(shown))
    assert (back.to_ms, back.live) == (shown.from_ms, False)
    assert window("week", NOW_MS, FIRST_MS, later(back, NOW_MS)) == shown


def test_everything_has_no_step() -> None:
    shown = window("all", NOW_MS, FIRST_MS)
    assert (earlier(shown), later(shown, NOW_MS)) == (None, None)


def test_a_time_to_come_is_now() -> None:
    assert window("day", NOW_MS, FIRST_MS, NOW_MS + DAY_MS) == window("day", NOW_MS, FIRST_MS)


def test_readings_themselves_are_drawn_up_to_a_day() -> None:
    assert [window(span, NOW_MS, FIRST_MS).is_short for span in SPANS] == [True, True, *[False] * 5]


def test_refuses_a_stretch_that_is_none() -> None:
    with pytest.raises(ValueError, match="at least ten minutes long, got -10 min"):
        linked(NOW_MS, NOW_MS - STEP_MS, NOW_MS)
