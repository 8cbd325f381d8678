"""What probes measure, and the units in which they say it.

A quantity or a unit is one row in a table here; the words by which a field's name gives it away are rows
in quantity_words.py. Readings are stored with the unit as sent; conversion happens on reading.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import overload

import numpy as np
from numpy.typing import ArrayLike, NDArray


@dataclass(frozen=True, slots=True)
class Quantity:
    """One kind of thing that a probe measures; limits are in `unit` and mark what no working sensor says."""

    name: str
    word: str
    unit: str
    lowest: float
    highest: float
    decimals: int
    shown_unit: str
    usual_units: tuple[str, ...]  # what a name without a unit most likely means, most likely first


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit code and its way to a canonical unit: canonical = value * scale + offset."""

    code: str
    to: str
    scale: float
    offset: float = 0.0
    telling: bool = False  # a value in this unit can hardly be anything else, whatever its name


# Limits. Air: wider than the ranges of SHT3x and SHT4x (data sheets: -40..125 degC; -6..119 % is what an
# SHT4x computes before clipping) and DS18B20 (-55..125 degC, so its -127 for "not connected" falls out).
# Pressure: BME280, 300..1100 hPa, with a margin. LQI: one octet in IEEE 802.15.4. The rest is our choice:
# the widest value that could still be true of a cave, its probe and its scale.
QUANTITIES: dict[str, Quantity] = {
    row.name: row
    for row in (
        Quantity("temperature", "temperature", "Cel", -60, 125, 1, "Cel", ("Cel",)),
        Quantity("surface_temperature", "surface temperature", "Cel", -60, 125, 1, "Cel", ("Cel",)),
        Quantity("humidity", "humidity", "%RH", -6, 119, 1, "%RH", ("%RH",)),
        Quantity("pressure", "air pressure", "Pa", 30_000, 120_000, 1, "hPa", ("hPa", "Pa", "kPa")),
        Quantity("co2", "carbon dioxide", "ppm", 0, 1_000_000, 0, "ppm", ("ppm",)),
        Quantity("battery", "battery", "%EL", 0, 110, 0, "%EL", ("%EL",)),
        Quantity("battery_voltage", "battery voltage", "V", 0, 60, 2, "V", ("V", "mV")),
        Quantity("door", "door", "open", 0, 1, 0, "open", ("open",)),
        Quantity("weight", "weight", "kg", -10, 2_000, 3, "kg", ("kg",)),
        Quantity("signal", "signal", "dBm", -150, 30, 0, "dBm", ("dBm",)),
        Quantity("link_quality", "link quality", "lqi", 0, 255, 0, "lqi", ("lqi",)),
        Quantity("uptime", "running for", "s", 0, 3.2e9, 0, "s", ("s",)),
    )
}

# Codes of the SenML units registry (RFC 8428 section 12.1: Cel K %RH % / %EL Pa kg g V s dBW) and of its
# secondary units (RFC 8798 section 3: hPa ppm mV dBm ms min h). The others never stand in SenML by its
# rules, but plain JSON and people use them: pound and ounce are exact (NIST SP 811 appendix B.8), inHg and
# mmHg are its conventional ones. "open" and "closed" say what a door contact's 1 means.
UNITS: tuple[Unit, ...] = (
    Unit("Cel", "Cel", 1, telling=True),
    Unit("K", "Cel", 1, -273.15, telling=True),
    Unit("degF", "Cel", 5 / 9, -160 / 9, telling=True),
    Unit("%RH", "%RH", 1, telling=True),
    Unit("%", "%RH", 1),
    Unit("/", "%RH", 100),
    Unit("Pa", "Pa", 1, telling=True),
    Unit("hPa", "Pa", 100, telling=True),
    Unit("mbar", "Pa", 100, telling=True),
    Unit("kPa", "Pa", 1_000, telling=True),
    Unit("bar", "Pa", 100_000),
    Unit("inHg", "Pa", 3_386.389, telling=True),
    Unit("mmHg", "Pa", 133.3224, telling=True),
    Unit("ppm", "ppm", 1),
    Unit("%", "ppm", 10_000),
    Unit("/", "ppm", 1_000_000),
    Unit("%EL", "%EL", 1, telling=True),
    Unit("%", "%EL", 1),
    Unit("/", "%EL", 100),
    Unit("V", "V", 1),
    Unit("mV", "V", 0.001),
    Unit("open", "open", 1, telling=True),
    Unit("closed", "open", -1, 1, telling=True),
    Unit("/", "open", 1),
    Unit("kg", "kg", 1, telling=True),
    Unit("g", "kg", 0.001, telling=True),
    Unit("lb", "kg", 0.45359237, telling=True),
    Unit("oz", "kg", 0.028349523125, telling=True),
    Unit("dBm", "dBm", 1, telling=True),
    Unit("dBW", "dBm", 1, 30, telling=True),
    Unit("lqi", "lqi", 1, telling=True),
    Unit("s", "s", 1),
    Unit("ms", "s", 0.001),
    Unit("min", "s", 60),
    Unit("h", "s", 3_600),
    Unit("d", "s", 86_400),
)

_BY_CODE: dict[tuple[str, str], Unit] = {(unit.code, unit.to): unit for unit in UNITS}


def units_of(quantity: str) -> tuple[str, ...]:
    """The unit codes in which a quantity can be given, its canonical one first.

    Raises:
        ValueError: a quantity that the table does not hold.
    """
    to = _known(quantity).unit
    return tuple(unit.code for unit in UNITS if unit.to == to)


def can_be(unit: str, quantity: str) -> bool:
    """Whether a value in this unit can be a value of this quantity; both by their code, unknown is no."""
    row = QUANTITIES.get(quantity)
    return row is not None and (unit, row.unit) in _BY_CODE


@overload
def to_canonical(value: float, unit: str, quantity: str) -> float: ...
@overload
def to_canonical(value: NDArray[np.floating] | list[float], unit: str, quantity: str) -> NDArray[np.float64]: ...
def to_canonical(value: ArrayLike, unit: str, quantity: str) -> float | NDArray[np.float64]:
    """A value as sent, in the quantity's canonical unit (54 degF is 12.2 Cel).

    Args:
        value: in `unit`, scalar or any shape. NaN stays NaN, no limit is checked.
        unit: a code of the UNITS table.
        quantity: a name of the QUANTITIES table.
    Returns:
        Value in `QUANTITIES[quantity].unit`; a float for a scalar, else an array of the same shape.
    Raises:
        ValueError: a quantity that is not in the table, or a unit that cannot be one of it.
    Source: RFC 8798 section 3 (scale first, then offset), NIST SP 811 appendix B.
    """
    row = _row(unit, quantity)
    if isinstance(value, (int, float)):
        return value * row.scale + row.offset
    return np.asarray(value, dtype=float) * row.scale + row.offset


@overload
def from_canonical(value: float, unit: str, quantity: str) -> float: ...
@overload
def from_canonical(value: NDArray[np.floating] | list[float], unit: str, quantity: str) -> NDArray[np.float64]: ...
def from_canonical(value: ArrayLike, unit: str, quantity: str) -> float | NDArray[np.float64]:
    """A value in the quantity's canonical unit, in the unit that a person chose to see.

    Args, returns and errors as for `to_canonical`, of which it is the inverse.
    """
    row = _row(unit, quantity)
    if isinstance(value, (int, float)):
        return (value - row.offset) / row.scale
    return (np.asarray(value, dtype=float) - row.offset) / row.scale


def _known(quantity: str) -> Quantity:
    row = QUANTITIES.get(quantity)
    if row is None:
        raise ValueError(f"quantity must be one of {', '.join(QUANTITIES)}, got {quantity}")
    return row


def _row(unit: str, quantity: str) -> Unit:
    row = _BY_CODE.get((unit, _known(quantity).unit))
    if row is None:
        raise ValueError(f"unit of {quantity} must be one of {', '.join(units_of(quantity))}, got {unit!r}")
    return row
