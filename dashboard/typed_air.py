"""Temperatures and humidities of air as people type them; pure."""

from collector.errors import EntryRefused
from dashboard.forms import of_field
from dashboard.household import Household
from dashboard.wheels.measures import PERCENT, TEMPERATURE, Measure, Unit, parse

# Limits: our choice. No cave, shop or garden that a person stands in is beyond them, and 54 meant as Fahrenheit is.
COLDEST_C, WARMEST_C = -40.0, 50.0
_C, _F = TEMPERATURE.units
IN_C = Measure("temperature", "°C", COLDEST_C, WARMEST_C, (_C, _F), signed=True)
IN_F = Measure(
    "temperature", "°F", -40.0, 122.0, (Unit(_F.words, 1), Unit(_C.words, 9 / 5, offset=32)), signed=True
)  # fmt: skip
HUMIDITY = Measure("humidity", "%", 1, 100, PERCENT.units)


def temperature_c(text: str, household: Household, field: str, label: str = "the temperature") -> float:
    """A temperature of air [degC], -40 to 50.

    Args:
        text: "12,4", "54F", "12.4 °C"; a bare number is in the household's unit.
        field: the form's field. label: what the error calls it.
    Raises:
        EntryRefused: it cannot be read or cannot be; says what, which value and which limit.
    """
    in_f = household.temperature_unit == "F"
    value = _parsed(text, IN_F if in_f else IN_C, "°f" if in_f else "°c", field, label)
    return (value - 32) * 5 / 9 if in_f else value


def humidity_pct(text: str, field: str, label: str = "the humidity") -> float:
    """A relative humidity [%], 1 to 100; errors as for `temperature_c`."""
    return _parsed(text, HUMIDITY, "%", field, label)


def _parsed(text: str, measure: Measure, unit: str, field: str, label: str) -> float:
    try:
        return parse(text, measure, unit, label)
    except EntryRefused as refused:
        raise of_field(field, refused) from refused
