"""Which stretch of time an address asks for."""

import pytest
from fastapi import HTTPException

from collector.records.columns import to_ms
from dashboard.cave_air import Asked, time_text, window_of
from dashboard.charts.spans import DAY_MS, Window
from dashboard.errors_shown import Trouble
from tests.dashboard.conftest import NOW_AT

NOW_MS = to_ms(NOW_AT)


def shown(**asked: str) -> Window:
    return window_of(Asked(**asked), NOW_MS, NOW_MS - 800 * DAY_MS)


def test_without_a_word_it_is_the_last_day() -> None:
    assert shown() == Window("day", NOW_MS - DAY_MS, NOW_MS, True)


def test_a_span_may_end_earlier() -> None:
    found = shown(span="week", to_at="2026-03-01T00:00Z")
    assert (time_text(found.from_ms), time_text(found.to_ms)) == ("2026-02-22T00:00Z", "2026-03-01T00:00Z")
    assert not found.live


def test_a_stretch_that_a_warning_links_to() -> None:
    found = shown(from_at="2026-03-10T00:10Z", to_at="2026-03-11T03:10Z")
    assert (found.span, found.length_ms) == ("", 27 * 3_600_000)


def test_a_time_in_another_zone_is_the_same_time() -> None:
    assert shown(span="day", to_at="2026-03-01T01:00+01:00") == shown(span="day", to_at="2026-03-01T00:00Z")


@pytest.mark.parametrize(
    "asked",
    [
        {"span": "fortnight"}, {"to_at": "yesterday"}, {"from_at": "2026-03-11T00:00Z", "to_at": "2026-03-10T00:00Z"},
        {"to_at": "1970-01-01T00:00Z"}, {"from_at": "9999-12-31T23:59Z", "to_at": "9999-12-31T23:59Z"},
        {"from_at": "2026-03-11T00:00Z", "to_at": "0001-01-01T00:00+14:00"},
    ],
)  # fmt: skip
def test_what_is_no_stretch_of_time_is_told_how_one_looks(asked: dict[str, str]) -> None:
    with pytest.raises(HTTPException) as refused:
        shown(**asked)
    assert refused.value.status_code == 422
    trouble = refused.value.detail
    assert isinstance(trouble, Trouble)
    assert "2026-03-12T14:10Z" in trouble.hint
