"""Quantities and units, against the SenML unit registries and pint."""

import math

import numpy as np
import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from collector.quantities import QUANTITIES, UNITS, can_be, from_canonical, to_canonical, units_of

# Our code, and what pint 0.25 calls the same unit; "/" stands for a bare ratio.
PINT_NAMES = {
    "Cel": "degC", "K": "kelvin", "degF": "degF",
    "Pa": "pascal", "hPa": "hectopascal", "mbar": "millibar", "kPa": "kilopascal", "bar": "bar",
    "inHg": "inHg", "mmHg": "mmHg",
    "V": "volt", "mV": "millivolt",
    "kg": "kilogram", "g": "gram", "lb": "pound", "oz": "ounce",
    "s": "second", "ms": "millisecond", "min": "minute", "h": "hour", "d": "day",
    "ppm": "ppm", "%": "percent", "/": "dimensionless",
}  # fmt: skip

PINT = pint.UnitRegistry()
OF_UNIT = {row.unit: row.name for row in reversed(QUANTITIES.values())}


@pytest.mark.parametrize(
    ("code", "to"), [(u.code, u.to) for u in UNITS if u.code in PINT_NAMES and u.to in PINT_NAMES], ids="->".join
)
@pytest.mark.parametrize("value", [0.0, 1.0, 12.34, 1013.25])
def test_converts_as_pint_does(code, to, value):
    expected = PINT.Quantity(value, PINT_NAMES[code]).to(PINT_NAMES[to]).magnitude
    assert to_canonical(value, code, OF_UNIT[to]) == pytest.approx(expected, rel=1e-6, abs=1e-9)


@pytest.mark.parametrize(
    ("value", "unit", "quantity", "expected"),
    [
        (100, "ms", "uptime", 0.1),  # RFC 8798 section 3, first worked example
        (-20, "dBW", "signal", 10),  # RFC 8798 section 3, second worked example, backwards
        (54, "degF", "temperature", 12.222222),  # NIST SP 811 appendix B: (t - 32) / 1.8
        (0.864, "/", "humidity", 86.4),  # "/" is a ratio, RFC 8428 section 12.1
        (0.98, "/", "battery", 98),
        (1013.25, "hPa", "pressure", 101325),  # the standard atmosphere, NIST SP 811 appendix B
        (29.92126, "inHg", "pressure", 101325),  # the same in conventional inches, NIST SP 811
        (7.125, "lb", "weight", 3.231845),  # 7 lb 2 oz, NIST SP 811: 0.45359237 kg exactly
        (1, "closed", "door", 0),
        (0, "closed", "door", 1),
    ],
)
def test_known_values_become_canonical(value, unit, quantity, expected):
    assert to_canonical(value, unit, quantity) == pytest.approx(expected, rel=1e-6)


def test_arrays_keep_their_shape_and_gaps():
    result = to_canonical(np.array([[32.0, np.nan], [212.0, 54.0]]), "degF", "temperature")
    assert result.shape == (2, 2)
    assert result[0, 0] == pytest.approx(0)
    assert result[1, 0] == pytest.approx(100)
    assert np.isnan(result[0, 1])
    assert math.isnan(to_canonical(math.nan, "degF", "temperature"))
    assert from_canonical([0.0, 100.0], "degF", "surface_temperature") == pytest.approx([32, 212])


@given(st.sampled_from([(u.code, OF_UNIT[u.to]) for u in UNITS]), st.floats(-1e6, 1e6))
def test_there_and_back_is_the_same_value(pair, value):
    unit, quantity = pair
    back = from_canonical(to_canonical(value, unit, quantity), unit, quantity)
    assert back == pytest.approx(value, rel=1e-9, abs=1e-6)


def test_refuses_a_unit_of_something_else():
    with pytest.raises(ValueError, match="unit of temperature must be one of Cel, K, degF, got 'kg'"):
        to_canonical(1.0, "kg", "temperature")
    with pytest.raises(ValueError, match=r"unit of weight must be .* got ''"):
        from_canonical(1.0, "", "weight")


def test_refuses_a_quantity_that_is_not_in_the_table():
    with pytest.raises(ValueError, match=r"quantity must be one of temperature, .* got joy"):
        units_of("joy")


def test_every_quantity_has_its_units():
    for row in QUANTITIES.values():
        assert units_of(row.name)[0] == row.unit
        assert can_be(row.shown_unit, row.name)
        assert all(can_be(unit, row.name) for unit in row.usual_units)
        assert row.lowest < row.highest
    assert not can_be("Cel", "humidity")
    assert not can_be("Cel", "joy")


def test_no_code_means_two_things_for_one_quantity():
    assert len({(unit.code, unit.to) for unit in UNITS}) == len(UNITS)


def test_a_thermometer_that_is_not_connected_is_impossible():
    # A DS18B20 library says -127 when the bus is open: common practice, no source.
    for name in ("temperature", "surface_temperature"):
        assert not QUANTITIES[name].lowest <= -127 <= QUANTITIES[name].highest
