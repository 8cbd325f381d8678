"""Air as people type it. 54 F is 12.2 C by NIST SP 811 (2008), B.8: t/F = 1.8 t/C + 32."""

import pytest

from collector.errors import EntryRefused
from dashboard.household import Household
from dashboard.typed_air import humidity_pct, temperature_c

IN_C, IN_F = Household(), Household(temperature_unit="F")


@pytest.mark.parametrize(
    ("text", "household", "value"),
    [
        ("12,4", IN_C, 12.4),
        ("12.4 °C", IN_C, 12.4),
        ("54F", IN_C, 12.222),
        ("54", IN_F, 12.222),
        ("12.2 c", IN_F, 12.2),
        ("-4", IN_C, -4.0),
        ("−40", IN_F, -40.0),
        ("50", IN_C, 50.0),
        ("122", IN_F, 50.0),
    ],
)
def test_a_temperature_is_understood(text: str, household: Household, value: float) -> None:
    assert temperature_c(text, household, "t") == pytest.approx(value, abs=0.001)


@pytest.mark.parametrize(
    ("text", "household", "said"),
    [
        ("54", IN_C, "The temperature must be at most 50 °C, got '54'."),
        ("123", IN_F, "The temperature must be at most 122 °F, got '123'."),
        ("-41", IN_C, "The temperature must be at least -40 °C, got '-41'."),
        ("warm", IN_C, "The temperature is not a number with a unit, got 'warm'."),
        ("", IN_C, "The temperature is blank, got ''."),
    ],
)
def test_what_cannot_be_is_named_with_its_limit(text: str, household: Household, said: str) -> None:
    with pytest.raises(EntryRefused) as refused:
        temperature_c(text, household, "t")
    assert (refused.value.field, str(refused.value)) == ("t", said)


def test_a_humidity_is_understood_and_bounded() -> None:
    assert humidity_pct("86,5 %", "h") == 86.5
    with pytest.raises(EntryRefused, match=r"^Lowest humidity must be at most 100 %, got '101'\.$"):
        humidity_pct("101", "h", "lowest humidity")
    with pytest.raises(EntryRefused, match="at least 1 %"):
        humidity_pct("0", "h")
