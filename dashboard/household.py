"""How this household wants its numbers, times and addresses; kept in the records, one row a setting."""

from dataclasses import asdict, dataclass, fields
from functools import lru_cache
from typing import Literal
from zoneinfo import ZoneInfo

from sqlalchemy import Connection, delete, insert, select
from tzlocal import get_localzone_name

from collector.records.tables import setting

KEY = "household."
TEMPERATURE_UNITS = {"C": "°C", "F": "°F"}
WEIGHT_UNITS = {"kg": "kilograms and grams", "lb": "pounds and ounces"}
DATE_FORMS = {
    "day-month": "12 March 2026, 14:10",
    "month-day": "March 12, 2026, 2:10 pm",
    "year-month-day": "2026-03-12, 14:10",
}
# Zones of the places where Fahrenheit, pounds and month-first dates are the custom.
US_ZONES = ("New_York", "Detroit", "Chicago", "Denver", "Boise", "Phoenix", "Los_Angeles", "Anchorage", "Honolulu")
US_ZONE_PARTS = ("Indiana/", "Kentucky/", "North_Dakota/", "US/")


@dataclass(frozen=True, slots=True)
class Household:
    """The choices of a household.

    Args:
        time_zone: IANA name of the zone that times are shown in.
        base_address: what phones call this machine, "" until somebody says so.
    """

    dairy_name: str = ""
    time_zone: str = "UTC"
    temperature_unit: Literal["C", "F"] = "C"
    weight_unit: Literal["kg", "lb"] = "kg"
    date_form: Literal["day-month", "month-day", "year-month-day"] = "day-month"
    base_address: str = ""

    @property
    def zone(self) -> ZoneInfo:
        return ZoneInfo(self.time_zone)


def of_this_machine() -> Household:
    """The choices that the machine's own time zone suggests."""
    return _suggested(get_localzone_name() or "UTC")


@lru_cache(maxsize=4)
def _suggested(zone: str) -> Household:
    try:
        ZoneInfo(zone)
    except (KeyError, ValueError):
        zone = "UTC"
    if zone.endswith(US_ZONES) or any(part in zone for part in US_ZONE_PARTS):
        return Household(time_zone=zone, temperature_unit="F", weight_unit="lb", date_form="month-day")
    return Household(time_zone=zone)


def load(db: Connection) -> Household:
    """The household's choices; what was never chosen is as the machine's zone suggests."""
    rows = db.execute(select(setting.c.key, setting.c.value).where(setting.c.key.startswith(KEY)))
    known = {field.name for field in fields(Household)}
    chosen = {key.removeprefix(KEY): value for key, value in rows if key.removeprefix(KEY) in known}
    return Household(**{**asdict(of_this_machine()), **chosen})


def save(db: Connection, household: Household) -> None:
    """Keep every choice, inside the caller's transaction."""
    rows = [{"key": KEY + name, "value": value} for name, value in asdict(household).items()]
    db.execute(delete(setting).where(setting.c.key.in_([row["key"] for row in rows])))
    db.execute(insert(setting), rows)
