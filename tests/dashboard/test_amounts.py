"""Values of any quantity in words. Units by RFC 8428, section 12.1, and RFC 8798, section 3."""

import pytest

from collector.quantities import QUANTITIES, can_be
from dashboard.amounts import amount, meanings_offered, quantities_and_units, quantity_word
from dashboard.household import Household

C, F = Household(), Household(temperature_unit="F", weight_unit="lb")


@pytest.mark.parametrize(
    ("value", "quantity", "shown"),
    [
        (12.22, "temperature", "12.2 °C"),
        (-0.5, "surface_temperature", "−0.5 °C"),
        (86.44, "humidity", "86.4 %"),
        (101_325, "pressure", "1013.2 hPa"),
        (800, "co2", "800 ppm"),
        (72.4, "battery", "72 %"),
        (3.01, "battery_voltage", "3.01 V"),
        (1, "door", "open"),
        (0, "door", "shut"),
        (2.4, "weight", "2.40 kg"),
        (-67, "signal", "−67 dBm"),
        (7_800, "uptime", "2 h 10 min"),
        (None, "humidity", "–"),
        (float("nan"), "humidity", "–"),
    ],
)
def test_a_value_is_told_in_its_usual_unit(value: float | None, quantity: str, shown: str) -> None:
    assert amount(value, quantity, C) == shown


def test_a_value_follows_the_households_units() -> None:
    assert amount(12.22, "temperature", F) == "54.0 °F"
    assert amount(3.23185, "weight", F) == "7 lb 2 oz"


def test_a_number_that_nobody_knows_stays_as_it_came() -> None:
    assert amount(417.5, None, C, "lx") == "417.5 lx"
    assert quantity_word(None) == ""


@pytest.mark.parametrize("quantity", sorted(QUANTITIES))
def test_every_quantity_can_be_shown_and_chosen(quantity: str) -> None:
    assert amount(QUANTITIES[quantity].highest, quantity, C)
    pairs = [pair for pair in quantities_and_units() if pair.startswith(quantity + "|")]
    assert pairs
    assert all(can_be(pair.split("|")[1], quantity) for pair in pairs)


def test_the_usual_unit_is_offered_first() -> None:
    pairs = list(quantities_and_units())
    assert pairs[0] == "temperature|Cel"
    assert next(pair for pair in pairs if pair.startswith("pressure")) == "pressure|hPa"


def test_of_meanings_that_read_alike_the_chosen_one_is_offered() -> None:
    assert "humidity|%RH" in meanings_offered()
    assert "humidity|%" not in meanings_offered()
    assert "humidity|%" in meanings_offered({"humidity|%"})
    assert len(meanings_offered({"humidity|%"})) == len(meanings_offered())
    assert set(meanings_offered().values()) == set(quantities_and_units().values())
