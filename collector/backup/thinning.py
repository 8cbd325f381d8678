"""Which automatic copies stay. Pure."""

from collections.abc import Iterable
from datetime import date, datetime, tzinfo

NIGHTLY, WEEKLY, MONTHLY = 7, 5, 12  # our choice: a slip is found within days, a slow loss within a season


def kept(
    made_at: Iterable[datetime], zone: tzinfo, nightly: int = NIGHTLY, weekly: int = WEEKLY, monthly: int = MONTHLY
) -> set[datetime]:
    """The copies that stay: the newest few, and the newest of each of the last weeks and months that have any.

    Args:
        made_at: when each copy was made, aware, in any order.
        zone: of the household; a week begins on Monday there.
        nightly, weekly, monthly: how many of each, at least 0.
    Returns:
        A subset of the times given; the newest copy always stays while any number is above 0.
    Source: our choice.
    """
    newest_first = sorted(set(made_at), reverse=True)
    stay = set(newest_first[:nightly])
    weeks: dict[tuple[int, int], datetime] = {}
    months: dict[tuple[int, int], datetime] = {}
    for at in newest_first:
        day: date = at.astimezone(zone).date()
        weeks.setdefault(day.isocalendar()[:2], at)
        months.setdefault((day.year, day.month), at)
    stay |= set(sorted(weeks.values(), reverse=True)[:weekly])
    return stay | set(sorted(months.values(), reverse=True)[:monthly])
