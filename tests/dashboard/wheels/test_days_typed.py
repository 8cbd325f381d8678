"""Days and moments as people type them. Weekdays and the change of clocks are judged by the standard library's
calendar and the time zone data; dates with a clear form also by dateutil's parser."""

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from dateutil import parser as dateutil
from hypothesis import given
from hypothesis import strategies as st

from collector.errors import EntryRefused
from dashboard.wheels.days_typed import AHEAD_D, EARLIEST, Habits, Order, parse_day, parse_moment

PARIS = ZoneInfo("Europe/Paris")
TODAY = date(2026, 3, 12)  # a Thursday
NOW_AT = datetime(2026, 3, 12, 13, 10, tzinfo=UTC)


def habits(order: Order = "dmy", today: date = TODAY) -> Habits:
    return Habits(today, PARIS, order)


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("2025-12-03", date(2025, 12, 3)),
        ("20251203", date(2025, 12, 3)),
        ("2025/12/3", date(2025, 12, 3)),
        ("3 Feb", date(2026, 2, 3)),
        ("3 feb.", date(2026, 2, 3)),
        ("3. Feb", date(2026, 2, 3)),
        ("3rd of February", date(2026, 2, 3)),
        ("Feb 3", date(2026, 2, 3)),
        ("February 3rd, 2025", date(2025, 2, 3)),
        ("3 Sept 24", date(2024, 9, 3)),
        ("3 Feb '25", date(2025, 2, 3)),
        ("13 Mar", date(2025, 3, 13)),  # tomorrow would be in the future
        ("12 Mar", TODAY),
        ("24-07", date(2025, 7, 24)),
        ("3.2.", date(2026, 2, 3)),
        ("3.2.25", date(2025, 2, 3)),
        ("03/02/2025", date(2025, 2, 3)),
        ("2/13", date(2026, 2, 13)),  # 13 is no month
        ("29 Feb", date(2024, 2, 29)),
        ("today", TODAY),
        ("Yesterday", date(2026, 3, 11)),
        ("the day before yesterday", date(2026, 3, 10)),
        ("3 days ago", date(2026, 3, 9)),
        ("2 weeks ago", date(2026, 2, 26)),
        ("Tuesday", date(2026, 3, 10)),
        ("last tue", date(2026, 3, 10)),
        ("Thursday", date(2026, 3, 5)),
        ("tomorrow", date(2026, 3, 13)),
    ],
)
def test_days_past(text: str, day: date) -> None:
    assert parse_day(text, habits()) == day


@pytest.mark.parametrize(
    ("text", "order", "day"),
    [
        ("3/2", "dmy", date(2026, 2, 3)),
        ("3/2", "mdy", date(2026, 3, 2)),
        ("3-2", "ymd", date(2026, 3, 2)),
        ("24-07", "mdy", date(2025, 7, 24)),
        ("24-07", "ymd", date(2025, 7, 24)),
        ("25-02-03", "ymd", date(2025, 2, 3)),
        ("02/03/25", "mdy", date(2025, 2, 3)),
    ],
)
def test_the_households_order_decides(text: str, order: Order, day: date) -> None:
    assert parse_day(text, habits(order)) == day


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("13 Mar", date(2026, 3, 13)),
        ("12 Mar", TODAY),
        ("11 Mar", date(2027, 3, 11)),
        ("Tuesday", date(2026, 3, 17)),
        ("29 Feb", date(2028, 2, 29)),
    ],
)
def test_days_to_come(text: str, day: date) -> None:
    assert parse_day(text, habits(), ahead=True) == day


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "is blank"),
        ("soon", "cannot be read as a day, got 'soon'; 2025-02-03 always can"),
        ("3 Foo", "cannot be read"),
        ("30 Feb", "there is no such day, got '30 Feb'"),
        ("2025-13-01", "there is no such day"),
        ("29 Feb 2025", "there is no such day"),
        ("31/31", "there is no such day"),
        ("1850-01-01", "must be from 1990-01-01 to 2036-03-19, got 1850-01-01"),
        ("2090-01-01", "got 2090-01-01"),
        ("2000 weeks ago", "must be from 1990"),
        ("2024-07", "cannot be read"),
        ("x" * 90, "too long"),
    ],
)  # fmt: skip
def test_what_is_no_day_is_refused_with_a_reason(text: str, words: str) -> None:
    with pytest.raises(EntryRefused) as refused:
        parse_day(text, habits())
    assert words in str(refused.value)


@given(st.dates(EARLIEST, TODAY + timedelta(days=AHEAD_D)), st.sampled_from(["%Y-%m-%d", "%d %b %Y", "%B %d, %Y"]))
def test_a_day_in_full_is_read_as_dateutil_reads_it(day: date, form: str) -> None:
    text = day.strftime(form)
    assert parse_day(text, habits()) == day == dateutil.parse(text).date()


@given(st.integers(1, 12), st.integers(1, 28), st.sampled_from(["dmy", "mdy"]))
def test_a_day_without_a_year_is_the_latest_one(month: int, day: int, order: Order) -> None:
    text = f"{day}/{month}" if order == "dmy" else f"{month}/{day}"
    found = parse_day(text, habits(order))
    assert (found.month, found.day) == (month, day)
    assert TODAY - timedelta(days=366) < found <= TODAY


@pytest.mark.parametrize(
    ("text", "wall"),
    [
        ("yesterday 8:00", (2026, 3, 11, 8)),
        ("yesterday at 8", (2026, 3, 11, 8)),
        ("8:00", (2026, 3, 12, 8)),
        ("8 this morning", (2026, 3, 12, 8)),
        ("8:30 in the evening", (2026, 3, 12, 20, 30)),
        ("7pm", (2026, 3, 12, 19)),
        ("12 am", (2026, 3, 12, 0)),
        ("12:15 pm", (2026, 3, 12, 12, 15)),
        ("3 Feb 7.30", (2026, 2, 3, 7, 30)),
        ("3 Feb, 7:30 p.m.", (2026, 2, 3, 19, 30)),
        ("2025-12-03T06:45", (2025, 12, 3, 6, 45)),
        ("2025-12-03", (2025, 12, 3, 12)),
        ("3.12", (2025, 12, 3, 12)),
        ("Tuesday noon", (2026, 3, 10, 12)),
        ("20h", (2026, 3, 12, 20)),
    ],
)
def test_moments_are_the_households_wall_time(text: str, wall: tuple[int, ...]) -> None:
    assert parse_moment(text, habits(), NOW_AT) == datetime(*wall, tzinfo=PARIS).astimezone(UTC)


@pytest.mark.parametrize("text", ["now", "today"])
def test_now_is_now(text: str) -> None:
    assert parse_moment(text, habits(), NOW_AT) == NOW_AT


def test_the_hour_that_the_clocks_skip_is_refused() -> None:
    # Central European summer time begins on the last Sunday of March (Directive 2000/84/EC): 29 March 2026.
    with pytest.raises(EntryRefused, match="the clocks went past 02:30 on 2026-03-29"):
        parse_moment("2026-03-29 2:30", habits(), NOW_AT)


def test_in_the_hour_that_comes_twice_the_first_is_meant() -> None:
    # Summer time ends on 26 October 2025 at 3:00; the first 2:30 is still UTC+2.
    assert parse_moment("2025-10-26 2:30", habits(), NOW_AT) == datetime(2025, 10, 26, 0, 30, tzinfo=UTC)


@pytest.mark.parametrize("text", ["25:00", "8:61", "13 am", "3 Feb 24:00"])
def test_a_time_that_is_none_is_refused(text: str) -> None:
    with pytest.raises(EntryRefused, match="there is no such time"):
        parse_moment(text, habits(), NOW_AT)


@given(st.text(max_size=70), st.sampled_from(["dmy", "mdy", "ymd"]), st.booleans())
def test_any_text_is_read_or_refused(text: str, order: Order, ahead: bool) -> None:
    _read_or_refused(text, order, ahead)


shapes = st.from_regex(r"\A[0-9]{1,4}[-./ ]([0-9]{1,2}|[a-z]{3})([-./ ][0-9]{0,4})?( [0-9]{1,2}[:.][0-9]{2})?\Z")


@given(shapes, st.sampled_from(["dmy", "mdy", "ymd"]), st.booleans())
def test_what_looks_like_a_day_is_read_or_refused(text: str, order: Order, ahead: bool) -> None:
    _read_or_refused(text, order, ahead)


def _read_or_refused(text: str, order: Order, ahead: bool) -> None:
    try:
        at = parse_moment(text, habits(order), NOW_AT, ahead=ahead)
    except EntryRefused as refused:
        reason = str(refused)
    else:
        reason = "read"
        assert at.utcoffset() == timedelta(0)
    assert 0 < len(reason) < 250
