"""Days and moments as people type them; pure: what day it is, and where, is handed in.

A day without a year is the latest such day that is not in the future (or, asked so, the next one that is not past).
"""

import re
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from typing import Literal
from zoneinfo import ZoneInfo

from collector.errors import EntryRefused
from dashboard.wheels.numbers_typed import plain_text

Order = Literal["dmy", "mdy", "ymd"]

EARLIEST = date(1990, 1, 1)  # the oldest cheese that anybody still keeps; our choice
AHEAD_D = 3_660
MAX_TEXT = 60

# fmt: off
_MONTHS = (
    "january", "february", "march", "april", "may", "june",
    "july", "august", "september", "october", "november", "december",
)
_WEEKDAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
# fmt: on
_NEAR = {"today": 0, "now": 0, "yesterday": -1, "the day before yesterday": -2, "tomorrow": 1}
_TIMES = {"noon": time(12), "midday": time(12), "midnight": time(0)}

_ISO = re.compile(r"(\d{4})-(\d{1,2})-(\d{1,2})")
_COMPACT = re.compile(r"(\d{4})(\d{2})(\d{2})")
_AGO = re.compile(r"(\d{1,4}) (day|week)s? ago")
_DAY_MONTH = re.compile(r"(\d{1,2})(?:st|nd|rd|th|\.)? (?:of )?([a-z]{3,9})\.?,?(?: '?(\d{2}|\d{4}))?")
_MONTH_DAY = re.compile(r"([a-z]{3,9})\.? (\d{1,2})(?:st|nd|rd|th)?(?:,? '?(\d{4}|\d{2}))?")
_NUMBERS = re.compile(r"(\d{1,4})([-./])(\d{1,2})(?:\2(\d{1,4})?)?")
_CLOCK = re.compile(r"(\d{1,2})(?:[:.h](\d{2}))?(?: ?h)?(?: ?(am|pm|a\.m\.|p\.m\.))?")
_HALF = r" ?[ap]\.?m\.?"
_TIME_LAST = re.compile(
    rf"(?:^|[ ,t])(?:at )?(\d{{1,2}}[:.]\d{{2}}(?:{_HALF})?|\d{{1,2}}(?: ?h|{_HALF})|noon|midday|midnight)$"
)
_AT_HOUR = re.compile(r"(?:^| )at (\d{1,2})$")
_THIS = re.compile(r"(\d{1,2}(?:[:.]\d{2})?) (?:this|in the) (morning|afternoon|evening)$")


@dataclass(frozen=True, slots=True)
class Habits:
    """How the household writes days: its zone, the order of day and month, and what day it is there."""

    today: date
    zone: ZoneInfo
    order: Order = "dmy"


def parse_day(text: str, habits: Habits, *, field: str = "day", ahead: bool = False) -> date:
    """The local date that somebody typed.

    Args:
        text: "2025-12-03", "3 Feb", "Feb 3, 2025", "3rd of February", "24-07", "3/2/25", "yesterday", "last Tuesday",
            "3 days ago".
        habits: decides what "3/2" is, and which year is meant.
        field: the form's field, for the error.
        ahead: whether a day without a year, or a weekday, is one to come rather than one past.
    Raises:
        EntryRefused: no day can be read, there is no such day, or it is before 1990 or ten years ahead.
    """
    plain = _plain(text, field)
    found = _day(plain, habits, ahead, field, text)
    if found is None:
        raise EntryRefused(field, f"{field} cannot be read as a day, got {text.strip()!r}; 2025-02-03 always can")
    return _in_range(found, habits.today, field)


def _plain(text: str, field: str) -> str:
    plain = " ".join(plain_text(text[: MAX_TEXT + 1]).casefold().split())
    if not plain:
        raise EntryRefused(field, f"{field} is blank")
    if len(text) > MAX_TEXT:
        raise EntryRefused(field, f"{field} is too long for a day, got {text[:20]!r}...")
    return plain


def _in_range(found: date, today: date, field: str) -> date:
    latest = today + timedelta(days=AHEAD_D)
    if found < EARLIEST or found > latest:
        raise EntryRefused(field, f"{field} must be from {EARLIEST} to {latest}, got {found}")
    return found


def _day(plain: str, habits: Habits, ahead: bool, field: str, text: str) -> date | None:
    if plain in _NEAR:
        return habits.today + timedelta(days=_NEAR[plain])
    if ago := _AGO.fullmatch(plain):
        return habits.today - timedelta(days=int(ago[1]) * (7 if ago[2] == "week" else 1))
    weekday = _weekday(plain.removeprefix("last ").removeprefix("next ").removeprefix("on "))
    if weekday is not None:
        return _nearest_weekday(weekday, habits.today, ahead or plain.startswith("next "))
    parts = _parts(plain, habits.order)
    if parts is None:
        return None
    found = _date_of(parts, habits.today, ahead)
    if found is None:
        raise EntryRefused(field, f"{field}: there is no such day, got {text.strip()!r}")
    return found


def _weekday(word: str) -> int | None:
    if len(word) < 3:
        return None
    return next((n for n, name in enumerate(_WEEKDAYS) if name == word or name[: len(word)] == word), None)


def _nearest_weekday(weekday: int, today: date, ahead: bool) -> date:
    if ahead:
        return today + timedelta(days=(weekday - today.weekday() - 1) % 7 + 1)
    return today - timedelta(days=(today.weekday() - weekday - 1) % 7 + 1)


Parts = tuple[int | None, int, int]


def _parts(plain: str, order: Order) -> Parts | None:
    """Year (None: not said), month and day."""
    if found := _ISO.fullmatch(plain) or _COMPACT.fullmatch(plain):
        return int(found[1]), int(found[2]), int(found[3])
    if found := _DAY_MONTH.fullmatch(plain):
        month = _month(found[2])
        return None if month is None else (_year(found[3]), month, int(found[1]))
    if found := _MONTH_DAY.fullmatch(plain):
        month = _month(found[1])
        return None if month is None else (_year(found[3]), month, int(found[2]))
    if found := _NUMBERS.fullmatch(plain):
        return _of_numbers(found, order)
    return None


def _month(word: str) -> int | None:
    word = "sep" if word == "sept" else word
    return next((n for n, name in enumerate(_MONTHS, 1) if name.startswith(word)), None)


def _year(text: str | None) -> int | None:
    if text is None:
        return None
    return int(text) + (2_000 if len(text) == 2 else 0)


def _of_numbers(found: re.Match[str], order: Order) -> Parts | None:
    one, two, three = int(found[1]), int(found[3]), found[4]
    if len(found[1]) == 4:
        return (one, two, int(three)) if three is not None else None
    if len(found[1]) == 3 or len(three or "25") not in {2, 4}:
        return None
    if order == "ymd" and three is not None:
        return _year(found[1]), two, int(three)
    # A number above twelve is no month, whatever the household's order.
    day_first = one > 12 if (one > 12) != (two > 12) else order == "dmy"
    month, day = (two, one) if day_first else (one, two)
    return _year(three), month, day


def _date_of(parts: Parts, today: date, ahead: bool) -> date | None:
    year, month, day = parts
    if year is not None:
        return _exists(year, month, day)
    # 29 February may be up to eight years away.
    years = range(today.year, today.year + 9) if ahead else range(today.year, today.year - 9, -1)
    found = (_exists(y, month, day) for y in years)
    return next((d for d in found if d is not None and (d >= today if ahead else d <= today)), None)


def _exists(year: int, month: int, day: int) -> date | None:
    try:
        return date(year, month, day)
    except ValueError:
        return None


def parse_moment(text: str, habits: Habits, now_at: datetime, *, field: str = "time", ahead: bool = False) -> datetime:
    """The moment that somebody typed, in UTC.

    Args:
        text: a day as for `parse_day`, a time ("8:00", "7pm", "8 this morning", "noon"), or both ("yesterday 8:00").
            A time alone is today's; a day alone is at noon, or now if it is today.
        habits: the household's zone says when that is; in the hour that comes twice in autumn the first is meant.
        now_at: aware.
    Raises:
        EntryRefused: as for `parse_day`; no such time; or a time that the clocks skip in spring.
    """
    plain = _plain(text, field)
    if plain == "now":
        return now_at.astimezone(UTC)
    day_words, clock = _split(plain, field, text)
    day = parse_day(day_words, habits, field=field, ahead=ahead) if day_words else habits.today
    if clock is None:
        return now_at.astimezone(UTC) if day == habits.today else _local(day, time(12), habits, field)
    return _local(day, clock, habits, field)


def _split(plain: str, field: str, text: str) -> tuple[str, time | None]:
    if found := _THIS.search(plain):
        clock = _clock(found[1] + ("am" if found[2] == "morning" else "pm"), field, text)
        return plain[: found.start()].strip(" ,"), clock
    found = _TIME_LAST.search(plain) or _AT_HOUR.search(plain)
    if found is None or _is_all_day(plain):
        return plain, None
    return plain[: found.start()].strip(" ,"), _clock(found[1], field, text)


def _is_all_day(plain: str) -> bool:
    """A day written with dots looks like a time ("3.12")."""
    return ":" not in plain and _NUMBERS.fullmatch(plain) is not None


def _clock(word: str, field: str, text: str) -> time:
    if word in _TIMES:
        return _TIMES[word]
    found = _CLOCK.fullmatch(word)
    hour, minute = (int(found[1]), int(found[2] or 0)) if found else (99, 0)
    half = (found[3] or "").replace(".", "") if found else ""
    if half and 1 <= hour <= 12:
        hour = hour % 12 + (12 if half == "pm" else 0)
    elif half and hour > 12:
        hour = hour if half == "pm" else 99
    if hour > 23 or minute > 59:
        raise EntryRefused(field, f"{field}: there is no such time, got {text.strip()!r}")
    return time(hour, minute)


def _local(day: date, clock: time, habits: Habits, field: str) -> datetime:
    wall = datetime.combine(day, clock, habits.zone)
    at = wall.astimezone(UTC)
    if at.astimezone(habits.zone).replace(tzinfo=None) != wall.replace(tzinfo=None):
        raise EntryRefused(field, f"{field}: the clocks went past {clock:%H:%M} on {day}; there was no such time")
    return at
