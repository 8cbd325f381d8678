"""Which copies stay: the newest seven always, then weeks and months, whatever nights were missed."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

from hypothesis import given
from hypothesis import strategies as st

from collector.backup.thinning import kept

START = datetime(2025, 1, 1, 3, 0, tzinfo=UTC)
MOMENTS = st.lists(st.integers(0, 800).map(lambda day: START + timedelta(days=day)), unique=True, max_size=60)


def lived(days: int, missed: set[int] = frozenset()) -> set[datetime]:  # type: ignore[assignment]
    """What lies in the folder after so many nights, each of which made a copy and thinned."""
    there: set[datetime] = set()
    for day in range(days):
        if day not in missed:
            there = kept(there | {START + timedelta(days=day)}, UTC)
    return there


def test_after_two_years_of_nights_a_week_of_nights_five_weeks_and_a_year_of_months_are_there() -> None:
    there = sorted(lived(730), reverse=True)
    newest = START + timedelta(days=729)  # Thursday 31 December 2026
    assert there[:7] == [newest - timedelta(days=i) for i in range(7)]
    sundays = [datetime(2026, 12, day, 3, tzinfo=UTC) for day in (27, 20, 13, 6)]
    assert set(sundays) <= set(there)
    ends = [datetime(2026, m + 1, 1, 3, tzinfo=UTC) - timedelta(days=1) for m in range(1, 12)]
    assert set(ends) <= set(there)
    assert len(there) == 7 + 3 + 11  # one Sunday and one month's end are among the nights


@given(MOMENTS)
def test_the_newest_seven_always_stay_and_no_more_than_the_sum(moments: list[datetime]) -> None:
    stay = kept(moments, UTC)
    assert set(sorted(moments)[-7:]) <= stay <= set(moments)
    assert len(stay) <= 7 + 5 + 12


@given(MOMENTS)
def test_thinning_twice_changes_nothing(moments: list[datetime]) -> None:
    once = kept(moments, UTC)
    assert kept(once, UTC) == once


def test_missed_nights_make_no_older_copy_go_early() -> None:
    there = lived(400, missed=set(range(300, 399)))
    assert START + timedelta(days=299) in there
    assert len(there) >= 7


def test_days_are_those_of_the_household() -> None:
    late = datetime(2026, 3, 31, 23, 30, tzinfo=UTC)  # already April in Auckland
    early = datetime(2026, 3, 31, 5, 0, tzinfo=UTC)
    assert kept([late, early], UTC, 0, 0, 12) == {late}
    assert kept([late, early], ZoneInfo("Pacific/Auckland"), 0, 0, 12) == {late, early}
