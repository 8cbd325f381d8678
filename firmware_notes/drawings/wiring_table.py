"""What is wired to what: the one table that drawings, pin tables and settings are checked against."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Wire:
    """One wire from a pin of the board to a pin of a part; `setting` names it in settings.py."""

    board_pin: str
    part_pin: str
    colour: str
    note: str
    setting: str = ""


@dataclass(frozen=True, slots=True)
class Bridge:
    """A resistor or capacitor between two wires, counted from 0."""

    kind: str  # "resistor" or "capacitor"
    value: str
    upper: int
    lower: int


@dataclass(frozen=True, slots=True)
class Hookup:
    """One part and how it is wired."""

    name: str
    title: str
    part: str
    wires: tuple[Wire, ...]
    bridges: tuple[Bridge, ...] = ()


POWER = Wire("3V3", "VDD", "red", "3.3 V. Never 5 V: the SHT4x ends at 3.6 V")
GROUND = Wire("GND", "GND", "black", "Ground")
SDA = Wire("GPIO21", "SDA", "blue", "Data of the I2C bus", "PIN_SDA")
SCL = Wire("GPIO22", "SCL", "green", "Clock of the I2C bus", "PIN_SCL")
PULL_UPS = (Bridge("resistor", "10 kΩ", 1, 2), Bridge("resistor", "10 kΩ", 1, 3))

HOOKUPS = (
    Hookup("sht4x", "SHT4x: air temperature and humidity", "SHT4x", (GROUND, POWER, SDA, SCL), PULL_UPS),
    Hookup(
        "sht3x",
        "SHT3x: air temperature and humidity",
        "SHT3x",
        (
            GROUND,
            Wire("3V3", "VDD", "red", "3.3 V"),
            SDA,
            SCL,
            Wire("GND", "ADDR", "black", "Chooses address 0x44; many small boards have done it already"),
        ),
        PULL_UPS,
    ),
    Hookup(
        "ds18b20",
        "DS18B20: surface temperature",
        "DS18B20",
        (
            Wire("3V3", "VDD", "red", "3.3 V; the mode without this wire is not used here"),
            Wire("GPIO4", "DQ", "yellow", "Data of the 1-Wire bus", "PIN_WIRE"),
            Wire("GND", "GND", "black", "Ground"),
        ),
        (Bridge("resistor", "4.7 kΩ", 0, 1),),
    ),
    Hookup(
        "door",
        "Door contact",
        "Reed switch",
        (
            Wire("3V3", "", "red", "Only to the resistor"),
            Wire("GPIO33", "one end", "yellow", "Low while the door is closed, high while it is open", "PIN_DOOR"),
            Wire("GND", "other end", "black", "Ground"),
        ),
        (Bridge("resistor", "470 kΩ", 0, 1),),
    ),
    Hookup(
        "load_cell",
        "Load cell under a shelf",
        "HX711 amplifier",
        (
            Wire("3V3", "VCC", "red", "3.3 V"),
            GROUND,
            Wire("GPIO25", "DT", "blue", "Data", "PIN_LOAD_DATA"),
            Wire("GPIO26", "SCK", "green", "Clock", "PIN_LOAD_CLOCK"),
        ),
    ),
    Hookup(
        "battery",
        "Battery, and measuring it",
        "3 AA cells",
        (
            Wire("5V", "+", "red", "Into the board's regulator; the board's leaflet says from how many volts"),
            Wire("GPIO34", "", "yellow", "A third of the battery's voltage", "PIN_BATTERY"),
            Wire("GND", "-", "black", "Ground"),
        ),
        (
            Bridge("resistor", "2 × 470 kΩ", 0, 1),
            Bridge("resistor", "470 kΩ", 1, 2),
            Bridge("capacitor", "100 nF", 1, 2),
        ),
    ),
)
