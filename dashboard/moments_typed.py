"""Moments as people type or pick them on a page; an empty field means now."""

from collections.abc import Mapping
from datetime import datetime, timedelta

from collector.errors import EntryRefused
from dashboard.forms import of_field
from dashboard.household import Household
from dashboard.wheels.days_typed import Habits, Order, parse_moment
from dashboard.words import local

ORDERS: Mapping[str, Order] = {"day-month": "dmy", "month-day": "mdy", "year-month-day": "ymd"}
AHEAD = timedelta(minutes=5)  # our choice: a phone's clock may run that far before this machine's


def habits(household: Household, now_at: datetime) -> Habits:
    """How this household writes days, as of a time."""
    return Habits(local(now_at, household).date(), household.zone, ORDERS[household.date_form])


def moment_typed(text: str, household: Household, now_at: datetime, field: str, *, ahead: bool = False) -> datetime:
    """The moment that a field says.

    Args:
        text: as the phone's picker sends it ("2026-03-12T14:10"), or typed ("yesterday 8:00"); "" is now.
        field: the form's field. ahead: whether a time to come is meant to be possible.
    Raises:
        EntryRefused: it cannot be read, or lies in the future where that makes no sense.
    """
    if not text.strip():
        return now_at
    try:
        found = parse_moment(text, habits(household, now_at), now_at, field="the time", ahead=ahead)
    except EntryRefused as refused:
        raise of_field(field, refused) from refused
    if not ahead and found > now_at + AHEAD:
        raise EntryRefused(field, f"The time must not be in the future, got {text.strip()}.")
    return found if ahead else min(found, now_at)


def for_picker(at: datetime | None, household: Household) -> str:
    """A time as a phone's date and time picker takes it."""
    return f"{local(at, household):%Y-%m-%dT%H:%M}" if at else ""
