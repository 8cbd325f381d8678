"""Numbers and times as words for the household: pure, so that every page says the same thing the same way."""

import math
from datetime import date, datetime

from dashboard.household import Household

NOTHING = "–"  # a gap is shown as a gap
GRAMS_PER_OUNCE = 28.349523125  # exact: international avoirdupois pound of 0.45359237 kg
OUNCES_PER_POUND = 16
MONTHS = (
    "January", "February", "March", "April", "May", "June",
    "July", "August", "September", "October", "November", "December",
)  # fmt: skip
SPANS = ((86_400, "day", "days"), (3_600, "h", "h"), (60, "min", "min"))


def _is_gap(value: float | None) -> bool:
    return value is None or math.isnan(value)


def _number(value: float, digits: int) -> str:
    text = f"{value:.{digits}f}"
    # A small negative value must not come out as "-0.0".
    return text.replace("-", "−") if float(text) != 0 else text.lstrip("-")


def temperature(value_c: float | None, household: Household, digits: int = 1) -> str:
    """A temperature [degC] in the household's unit; None and NaN are a dash."""
    if value_c is None or _is_gap(value_c):
        return NOTHING
    shown = value_c * 9 / 5 + 32 if household.temperature_unit == "F" else value_c
    return f"{_number(shown, digits)} °{household.temperature_unit}"


def temperature_step(value_k: float | None, household: Household, digits: int = 1) -> str:
    """A difference of temperatures [K] in the household's unit, without a sign for rising."""
    if value_k is None or _is_gap(value_k):
        return NOTHING
    shown = value_k * 9 / 5 if household.temperature_unit == "F" else value_k
    return f"{_number(shown, digits)} °{household.temperature_unit}"


def temperature_number(value_c: float | None, household: Household, digits: int = 1) -> str:
    """A temperature [degC] as a bare number in the household's unit, for a form field; "" for a gap."""
    return "" if _is_gap(value_c) else temperature(value_c, household, digits).split(" ")[0].replace("−", "-")


def humidity(
    value_pct: float | None,
    household: Household,
    uncertainty_pct: float | None = None,
    checked_on: date | None = None,
    digits: int = 0,
) -> str:
    """A relative humidity [%]; with an uncertainty it also says when the probe was checked."""
    if value_pct is None or _is_gap(value_pct):
        return NOTHING
    text = f"{_number(value_pct, digits)} %"
    if uncertainty_pct is None:
        return text
    checked = f"checked {short_date(checked_on, household)}" if checked_on else "not checked yet"
    return f"{text} ± {_number(uncertainty_pct, 0)}, {checked}"


def weight(value_g: float | None, household: Household) -> str:
    """A weight [g]: grams below a kilogram, else kilograms; or pounds and ounces."""
    if value_g is None or _is_gap(value_g):
        return NOTHING
    if household.weight_unit == "lb":
        return _pounds(value_g)
    return f"{_number(value_g, 0)} g" if abs(value_g) < 999.5 else f"{_number(value_g / 1_000, 2)} kg"


def _pounds(value_g: float) -> str:
    sign = "−" if value_g < 0 else ""
    ounces = round(abs(value_g) / GRAMS_PER_OUNCE, 1)
    pounds, rest = divmod(ounces, OUNCES_PER_POUND)
    rest_text = f"{rest:.1f}".removesuffix(".0") + " oz"
    return sign + (f"{pounds:.0f} lb {rest_text}" if pounds else rest_text)


def local(at: datetime, household: Household) -> datetime:
    """An aware time in the household's zone."""
    return at.astimezone(household.zone)


def clock_time(at: datetime | None, household: Household) -> str:
    """The time of day, like 14:10 or 2:10 pm."""
    if at is None:
        return NOTHING
    here = local(at, household)
    if household.date_form != "month-day":
        return f"{here:%H:%M}"
    return f"{here.hour % 12 or 12}:{here:%M} {'pm' if here.hour >= 12 else 'am'}"


def _day(value: datetime | date, household: Household) -> date:
    return local(value, household).date() if isinstance(value, datetime) else value


def long_date(value: datetime | date | None, household: Household) -> str:
    """A date with its year."""
    if value is None:
        return NOTHING
    day = _day(value, household)
    if household.date_form == "year-month-day":
        return day.isoformat()
    if household.date_form == "month-day":
        return f"{MONTHS[day.month - 1]} {day.day}, {day.year}"
    return f"{day.day} {MONTHS[day.month - 1]} {day.year}"


def short_date(value: datetime | date | None, household: Household) -> str:
    """A date without its year, where the year is plain."""
    if value is None:
        return NOTHING
    day = _day(value, household)
    if household.date_form == "year-month-day":
        return f"{day:%m-%d}"
    if household.date_form == "month-day":
        return f"{MONTHS[day.month - 1]} {day.day}"
    return f"{day.day} {MONTHS[day.month - 1]}"


def moment(at: datetime | None, now_at: datetime, household: Household) -> str:
    """A time as one says it today: "14:10", "yesterday 14:10", "12 March 14:10", with the year when it is another."""
    if at is None:
        return NOTHING
    day, today, hour = _day(at, household), _day(now_at, household), clock_time(at, household)
    if day == today:
        return hour
    if (today - day).days == 1:
        return f"yesterday {hour}"
    return f"{short_date(day, household) if day.year == today.year else long_date(day, household)} {hour}"


def duration(seconds: float | None) -> str:
    """A span of time in its two largest parts: "2 h 10 min", "3 days 4 h"."""
    if seconds is None or _is_gap(seconds):
        return NOTHING
    rest, parts = round(abs(seconds) / 60) * 60, []
    for size, one, many in SPANS:
        count, rest = divmod(rest, size)
        if count:
            parts.append(f"{count} {one if count == 1 else many}")
    return " ".join(parts[:2]) or "less than a minute"


def ago(at: datetime | None, now_at: datetime) -> str:
    """How long ago, in one part: "just now", "2 min ago", "3 days ago"; "in 2 min" for what is to come."""
    if at is None:
        return "never"
    seconds = (now_at - at).total_seconds()
    for size, one, many in SPANS:
        count = int(abs(seconds) // size)
        if count:
            span = f"{count} {one if count == 1 else many}"
            return f"{span} ago" if seconds > 0 else f"in {span}"
    return "just now"
