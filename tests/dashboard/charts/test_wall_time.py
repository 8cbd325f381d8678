"""Wall time against the zone rules themselves, through both changes of the clocks.

Summer time in the European Union ends and begins at 01:00 UTC on the last Sundays of October and March (directive
2000/84/EC): 2026-10-25 and 2026-03-29.
"""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from collector.records.columns import to_ms
from dashboard.charts.wall_time import changes, wall_ms, wall_text, wall_times

ZURICH, NEW_YORK, LORD_HOWE = ZoneInfo("Europe/Zurich"), ZoneInfo("America/New_York"), ZoneInfo("Australia/Lord_Howe")
OCTOBER, MARCH = datetime(2026, 10, 25, 1, tzinfo=UTC), datetime(2026, 3, 29, 1, tzinfo=UTC)
HALF_H_MS = 1_800_000


def every_half_hour(around: datetime, before: int, after: int) -> np.ndarray:
    return to_ms(around) + HALF_H_MS * np.arange(-before, after, dtype=np.int64)


def test_when_the_clocks_go_back_the_line_is_broken_before_the_repeated_hour() -> None:
    shown = wall_times(every_half_hour(OCTOBER, 3, 4), ZURICH)
    assert [text[-5:] for text in shown.texts] == ["01:30", "02:00", "02:30", "02:00", "02:30", "03:00", "03:30"]
    assert shown.breaks.tolist() == [3]
    assert shown.laid_out([1.0, 2, 3, 4, 5, 6, 7]) == [1, 2, 3, None, 4, 5, 6, 7]
    assert [text[-5:] for text in shown.laid_out_texts()][2:5] == ["02:30", "02:30", "02:00"]


def test_when_the_clocks_go_forward_an_hour_of_the_wall_is_missing_and_nothing_is_broken() -> None:
    shown = wall_times(every_half_hour(MARCH, 2, 2), ZURICH)
    assert [text[-5:] for text in shown.texts] == ["01:00", "01:30", "03:00", "03:30"]
    assert shown.breaks.tolist() == []
    assert shown.laid_out([1.0, 2, 3, 4]) == [1, 2, 3, 4]


@pytest.mark.parametrize(("at", "by_h"), [(OCTOBER, -1), (MARCH, 1)])
def test_a_change_is_found_to_the_second(at: datetime, by_h: int) -> None:
    found = changes(ZURICH, to_ms(at) - 20 * 86_400_000, to_ms(at) + 20 * 86_400_000)
    assert [(change.at_ms, change.by_ms) for change in found] == [(to_ms(at), by_h * 3_600_000)]


def test_a_year_has_two_changes_and_a_zone_without_summer_time_none() -> None:
    span = to_ms(datetime(2026, 1, 1, tzinfo=UTC)), to_ms(datetime(2027, 1, 1, tzinfo=UTC))
    assert len(changes(ZURICH, *span)) == 2
    assert changes(ZoneInfo("UTC"), *span) == []


@given(
    st.integers(to_ms(datetime(2025, 1, 1, tzinfo=UTC)), to_ms(datetime(2028, 1, 1, tzinfo=UTC))),
    st.sampled_from([ZURICH, NEW_YORK, LORD_HOWE, ZoneInfo("Asia/Kathmandu")]),
)
def test_agrees_with_the_standard_library_at_any_time(first_ms: int, zone: ZoneInfo) -> None:
    at_ms = first_ms // 1000 * 1000 + 86_400_000 * np.arange(0, 400, 13, dtype=np.int64)
    expected = [
        (datetime(1970, 1, 1, tzinfo=UTC) + timedelta(milliseconds=int(ms))).astimezone(zone).replace(tzinfo=None)
        for ms in at_ms
    ]
    assert [datetime.fromisoformat(text) for text in wall_times(at_ms, zone, seconds=True).texts] == expected


def test_no_times_are_no_texts() -> None:
    nothing = np.empty(0, dtype=np.int64)
    assert len(wall_ms(nothing, ZURICH)) == 0
    assert wall_times(nothing, ZURICH).texts == []


def test_one_time_is_a_text_to_the_minute() -> None:
    assert wall_text(to_ms(OCTOBER) + 59_999, ZURICH) == "2026-10-25T02:00"
