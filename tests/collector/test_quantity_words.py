"""What a field's name and unit give away. Names are invented in the common styles; no source."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collector.quantities import QUANTITIES, can_be
from collector.quantity_words import guess_quantity, guess_unit, unit_code

NAMES = [
    ("temperature", "temperature", "Cel"),
    ("temp", "temperature", "Cel"),
    ("t", "temperature", "Cel"),
    ("T1", "temperature", "Cel"),
    ("tempf", "temperature", "degF"),
    ("tempC", "temperature", "Cel"),
    ("outsideTempF", "temperature", "degF"),
    ("temperature_f", "temperature", "degF"),
    ("air.temperature.2", "temperature", "Cel"),
    ("/SHT/Temp", "temperature", "Cel"),
    ("/temperature/value", "temperature", "Cel"),
    ("/temperature/outside", "temperature", "Cel"),
    ("wall.temperature", "surface_temperature", "Cel"),
    ("shelfTemp", "surface_temperature", "Cel"),
    ("ceiling_temp_f", "surface_temperature", "degF"),
    ("/DS18B20/Temperature", "surface_temperature", "Cel"),
    ("ds18b20_temp", "surface_temperature", "Cel"),
    ("humidity", "humidity", "%RH"),
    ("hum", "humidity", "%RH"),
    ("RH", "humidity", "%RH"),
    ("relative_humidity", "humidity", "%RH"),
    ("pressure_hPa", "pressure", "hPa"),
    ("co2", "co2", "ppm"),
    ("CO2ppm", "co2", "ppm"),
    ("battery", "battery", "%EL"),
    ("batt_pct", "battery", "%"),
    ("battery_level", "battery", "%EL"),
    ("batt_v", "battery_voltage", "V"),
    ("battery_mV", "battery_voltage", "mV"),
    ("batteryVoltage", "battery_voltage", "V"),
    ("/battery/voltage", "battery_voltage", "V"),
    ("vbat", "battery_voltage", "V"),
    ("battery_temperature", "temperature", "Cel"),
    ("door", "door", "open"),
    ("door_open", "door", "open"),
    ("doorClosed", "door", "closed"),
    ("contact", "door", "closed"),
    ("weight", "weight", "kg"),
    ("weight_g", "weight", "g"),
    ("mass_lb", "weight", "lb"),
    ("rssi", "signal", "dBm"),
    ("linkquality", "link_quality", "lqi"),
    ("link_quality", "link_quality", "lqi"),
    ("upTime", "uptime", "s"),
    ("uptime_ms", "uptime", "ms"),
]


@pytest.mark.parametrize(("name", "quantity", "unit"), NAMES, ids=[name for name, _, _ in NAMES])
def test_a_name_gives_away_quantity_and_unit(name, quantity, unit):
    assert guess_quantity(name) == quantity
    assert guess_unit(name, quantity) == unit


@pytest.mark.parametrize(
    "name",
    ["", "/", "attempt", "press", "pressed", "template", "humble", "batch", "masses", "thing", "x1", "weighting",
     "target_temperature", "temperatureOffset", "/temperature/min", "tempmin", "dewPoint", "dew_point", "cpu_temp",
     "soil_moisture", "absolute_humidity", "color_temp", "battery_low", "eco2", "open_count", "hatchery", "weather",
     "time", "th", "/t/x", "température"],
)  # fmt: skip
def test_a_name_that_says_nothing_is_no_guess(name):
    assert guess_quantity(name) is None


@pytest.mark.parametrize(
    ("name", "unit", "quantity"),
    [
        ("urn:dev:ow:10e2073a01080063", "Cel", "temperature"),
        ("sensor", "%RH", "humidity"),
        ("sensor", "%EL", "battery"),
        ("sensor", "°C", "temperature"),
        ("wall", "Cel", "surface_temperature"),
        ("battery", "V", "battery_voltage"),
        ("battery", "%", "battery"),
        ("temp", "F", "temperature"),
        ("humidity", "/", "humidity"),
        ("humidity", "Cel", None),  # the two contradict each other
        ("current", "A", None),
        ("sensor", "F", None),  # a farad in SenML
        ("sensor", "V", None),  # not every voltage is a battery's
        ("sensor", "/", None),
        ("target_temperature", "Cel", None),
    ],
)
def test_a_unit_helps_or_contradicts(name, unit, quantity):
    assert guess_quantity(name, unit) == quantity


@pytest.mark.parametrize(
    ("text", "quantity", "code"),
    [
        ("°F", "temperature", "degF"),
        ("C", "temperature", "Cel"),
        ("%", "humidity", "%"),
        ("lbs", "weight", "lb"),
        (" Grams ", "weight", "g"),
        ("mbar", "pressure", "mbar"),
        ("open", "door", "open"),
        ("furlong", "temperature", None),
        ("kg", "humidity", None),
    ],
)
def test_written_units_have_codes(text, quantity, code):
    assert unit_code(text, quantity) == code


@pytest.mark.parametrize(
    ("name", "quantity", "value", "unit"),
    [
        ("pressure", "pressure", 1013.2, "hPa"),
        ("pressure", "pressure", 101320, "Pa"),
        ("pressure", "pressure", 101.3, "kPa"),
        ("pressure", "pressure", 7, "hPa"),  # possible in none: the usual one
        ("vbat", "battery_voltage", 3.9, "V"),
        ("vbat", "battery_voltage", 3900, "mV"),
        ("tempf", "temperature", 500, "degF"),  # what the name says wins
    ],
)
def test_the_value_picks_the_unit_in_which_it_is_possible(name, quantity, value, unit):
    assert guess_unit(name, quantity, value) == unit


@given(st.text(max_size=60), st.text(max_size=6))
def test_any_name_and_unit_get_a_quantity_that_fits_or_none(name, unit):
    quantity = guess_quantity(name, unit)
    assert quantity is None or quantity in QUANTITIES
    if quantity is not None and unit:
        assert can_be(unit_code(unit, quantity), quantity)
    if quantity is not None:
        assert can_be(guess_unit(name, quantity), quantity)
