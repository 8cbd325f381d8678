"""How the household wants numbers and times, for messages; the choices are kept by the dashboard, one row a setting."""

import math
from dataclasses import asdict, dataclass, fields
from datetime import date, datetime
from functools import lru_cache
from zoneinfo import ZoneInfo

from sqlalchemy import Connection, select
from tzlocal import get_localzone_name

from collector.records.tables import setting

KEY = "household."
# Zones of the places where Fahrenheit and month-first dates are the custom.
US_ZONES = ("New_York", "Detroit", "Chicago", "Denver", "Boise", "Phoenix", "Los_Angeles", "Anchorage", "Honolulu")
US_ZONE_PARTS = ("Indiana/", "Kentucky/", "North_Dakota/", "US/")
MONTHS = (
    "January", "February", "March", "April", "May", "June",
    "July", "August", "September", "October", "November", "December",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Household:
    """The choices of a household that messages need."""

    time_zone: str = "UTC"
    temperature_unit: str = "C"
    date_form: str = "day-month"
    base_address: str = ""

    @property
    def zone(self) -> ZoneInfo:
        return ZoneInfo(self.time_zone)


def load_household(connection: Connection) -> Household:
    """The household's choices; what was never chosen, or cannot be understood, is as the machine's zone suggests."""
    rows = connection.execute(select(setting.c.key, setting.c.value).where(setting.c.key.startswith(KEY)))
    known = {field.name for field in fields(Household)}
    chosen = {key.removeprefix(KEY): str(value) for key, value in rows if key.removeprefix(KEY) in known}
    if not is_zone(chosen.get("time_zone", "")):
        chosen.pop("time_zone", None)
    if chosen.get("temperature_unit") not in ("C", "F"):
        chosen.pop("temperature_unit", None)
    return Household(**{**asdict(suggested(get_localzone_name() or "UTC")), **chosen})


def is_zone(name: str) -> bool:
    """Whether this machine knows a time zone of that name."""
    try:
        return bool(name) and bool(ZoneInfo(name))
    except (KeyError, ValueError, OSError):
        return False


@lru_cache(maxsize=4)
def suggested(zone: str) -> Household:
    """What a machine's own time zone suggests; an unknown zone counts as UTC."""
    if not is_zone(zone):
        zone = "UTC"
    if zone.endswith(US_ZONES) or any(part in zone for part in US_ZONE_PARTS):
        return Household(zone, "F", "month-day")
    return Household(zone)


def number(value: float, digits: int) -> str:
    """A number with a true minus sign, never "-0"."""
    text = f"{value:.{digits}f}"
    return text.replace("-", "−") if float(text) != 0 else text.lstrip("-")


def temperature(value_c: float, household: Household) -> str:
    """A temperature [degC] in the household's unit, to a tenth."""
    shown = value_c * 9 / 5 + 32 if household.temperature_unit == "F" else value_c
    return f"{number(shown, 1)} °{household.temperature_unit}"


def difference(value_k: float, household: Household) -> str:
    """A difference of temperatures [K] in the household's unit, to a tenth."""
    shown = value_k * 9 / 5 if household.temperature_unit == "F" else value_k
    return f"{number(shown, 1)} °{household.temperature_unit}"


def clock_time(at: datetime, household: Household) -> str:
    """The time of day in the household's zone, like 14:10 or 2:10 pm."""
    here = at.astimezone(household.zone)
    if household.date_form != "month-day":
        return f"{here:%H:%M}"
    return f"{here.hour % 12 or 12}:{here:%M} {'pm' if here.hour >= 12 else 'am'}"


def moment(at: datetime, now_at: datetime, household: Household) -> str:
    """A time as one says it on that day: "14:10", "yesterday 14:10", "12 March 14:10"."""
    day, today = (when.astimezone(household.zone).date() for when in (at, now_at))
    hour = clock_time(at, household)
    if day == today:
        return hour
    if (today - day).days == 1:
        return f"yesterday {hour}"
    return f"{_date(day, today.year, household)} {hour}"


def _date(day: date, this_year: int, household: Household) -> str:
    if household.date_form == "year-month-day":
        return day.isoformat()
    year = "" if day.year == this_year else f"{day.year}"
    if household.date_form == "month-day":
        return f"{MONTHS[day.month - 1]} {day.day}" + (f", {year}" if year else "")
    return f"{day.day} {MONTHS[day.month - 1]}" + (f" {year}" if year else "")


def stretch(from_at: datetime, to_at: datetime, now_at: datetime, household: Household) -> str:
    """A span of time: "02:10 to 05:40", with the day of its ends where that is not today."""
    same_day = from_at.astimezone(household.zone).date() == to_at.astimezone(household.zone).date()
    end = clock_time(to_at, household) if same_day else moment(to_at, now_at, household)
    return f"{moment(from_at, now_at, household)} to {end}"


def duration(seconds: float) -> str:
    """A length of time in its two largest parts: "2 h 10 min", "3 days 4 h"; at least a minute."""
    if not math.isfinite(seconds):
        return "unknown time"
    rest, parts = max(60, round(abs(seconds) / 60) * 60), []
    for size, one, many in ((86_400, "day", "days"), (3_600, "h", "h"), (60, "min", "min")):
        count, rest = divmod(rest, size)
        if count:
            parts.append(f"{count} {one if count == 1 else many}")
    return " ".join(parts[:2])
