"""Values of any quantity as the household reads them, and the words for quantities and units; pure."""

import math
from collections.abc import Collection

from collector.quantities import QUANTITIES, UNITS, from_canonical
from dashboard.household import Household
from dashboard.words import NOTHING, duration, temperature, weight

UNIT_WORDS = {
    "Cel": "°C", "degF": "°F", "K": "K", "%RH": "%", "%EL": "%", "%": "%", "/": "share of 1", "lqi": "of 255",
    "open": "1 is open", "closed": "1 is shut", "s": "seconds", "ms": "thousandths of a second", "min": "minutes",
    "h": "hours", "d": "days",
}  # fmt: skip
CLOSED, OPEN = "shut", "open"


def amount(value: float | None, quantity: str | None, household: Household, unit: str = "") -> str:
    """A value in the quantity's canonical unit; of an unknown quantity the bare number with the unit it came in."""
    if value is None or math.isnan(value):
        return NOTHING
    if quantity is None or quantity not in QUANTITIES:
        return f"{value:g} {unit_word(unit)}".strip()
    if quantity in ("temperature", "surface_temperature"):
        return temperature(value, household)
    if quantity == "weight":
        return weight(value * 1_000, household)
    if quantity == "door":
        return OPEN if value >= 0.5 else CLOSED
    if quantity == "uptime":
        return duration(value)
    row = QUANTITIES[quantity]
    shown = f"{from_canonical(value, row.shown_unit, quantity):.{row.decimals}f}"
    return f"{shown.replace('-', '−')} {unit_word(row.shown_unit)}".strip()


def unit_word(code: str) -> str:
    """A unit's code as people write it; an unknown one as it is."""
    return UNIT_WORDS.get(code, code)


def quantity_word(quantity: str | None) -> str:
    """What a quantity is called; "" for one that nobody knows."""
    row = QUANTITIES.get(quantity or "")
    return row.word if row else ""


def quantities_and_units() -> dict[str, str]:
    """Every pair that a field can be said to be, as "quantity|unit", with its words; the usual units first."""
    found: dict[str, str] = {}
    for row in QUANTITIES.values():
        rest = [unit.code for unit in UNITS if unit.to == row.unit and unit.code not in row.usual_units]
        for code in (*row.usual_units, *rest):
            found[f"{row.name}|{code}"] = f"{row.word}, {unit_word(code)}"
    return found


def meanings_offered(chosen: Collection[str] = ()) -> dict[str, str]:
    """The same for a list to choose from: of pairs that read alike only one, the chosen or else the usual one."""
    pairs, shown = quantities_and_units(), dict[str, str]()
    for pair, words in pairs.items():
        if words not in shown or pair in chosen:
            shown[words] = pair
    return {pair: words for words, pair in shown.items()}
