"""How a household wants its numbers, times and addresses. Pure."""

from dataclasses import dataclass
from functools import lru_cache
from typing import Literal
from zoneinfo import ZoneInfo

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


CHOICES: dict[str, dict[str, str]] = {
    "temperature_unit": TEMPERATURE_UNITS,
    "weight_unit": WEIGHT_UNITS,
    "date_form": DATE_FORMS,
}


def is_possible(name: str, value: object) -> bool:
    """True for a field of a household and a value that it may have; records of another version may hold others."""
    if name in CHOICES:
        return value in CHOICES[name]
    if name == "time_zone":
        return isinstance(value, str) and is_zone(value)
    return name in {"dairy_name", "base_address"} and isinstance(value, str)


def is_zone(name: str) -> bool:
    """True for the name of a time zone that this machine knows."""
    try:
        ZoneInfo(name)
    except (KeyError, ValueError, OSError):
        return False
    return True


@lru_cache(maxsize=4)
def suggested(zone: str) -> Household:
    """The choices that a machine's time zone suggests; a name that is no zone is UTC."""
    if not is_zone(zone):
        zone = "UTC"
    if zone.endswith(US_ZONES) or any(part in zone for part in US_ZONE_PARTS):
        return Household(time_zone=zone, temperature_unit="F", weight_unit="lb", date_form="month-day")
    return Household(time_zone=zone)
