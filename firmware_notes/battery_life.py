"""How long a battery lasts: a worked current budget, each figure with where it comes from.

Run from the repository: python -m firmware_notes.battery_life --interval 300 --send-every 6
"""

from __future__ import annotations

import argparse
from dataclasses import dataclass

DAY_S = 86_400
HOURS_A_DAY = 24
MODULE = "ESP32-WROOM-32 data sheet, table 4"
RADIO = "ESP32-PICO-ZERO manual, table 6 (the same chip)"
BOARDS = "measured on boards by lucidar.me, 'ESP32 real current consumption in deep sleep mode'"
SHT4X = "SHT4x data sheet, version 6, page 1"
CELLS = "makers' figure as quoted in battery forums"
MEMORY = "from memory"
GUESS = "our estimate; measure your own board"


@dataclass(frozen=True, slots=True)
class Figure:
    """A number, its unit and its source."""

    value: float
    unit: str
    source: str


@dataclass(frozen=True, slots=True)
class Item:
    """One use of the battery: a current for so many seconds, so many times a day."""

    name: str
    current_ma: float
    seconds: float
    times_a_day: float
    source: str

    @property
    def mah_a_day(self) -> float:
        return self.current_ma * self.seconds * self.times_a_day / 3600


@dataclass(frozen=True, slots=True)
class Habit:
    """How a probe is used."""

    interval_s: int = 300
    send_every: int = 6
    heat_pulses_a_day: int = 3
    surface_sensor: bool = True
    door: bool = False


@dataclass(frozen=True, slots=True)
class Battery:
    """What is usable of a battery in a cold place, and what it loses by itself in a year."""

    name: str
    capacity: Figure
    usable: Figure
    lost_a_year: Figure

    @property
    def usable_mah(self) -> float:
        return self.capacity.value * self.usable.value


SLEEP_CHIP_MA = Figure(0.010, "mA", f"{MODULE}: RTC timer and RTC memory 10 µA")
SLEEP_FRUGAL_MA = Figure(0.012, "mA", f"{BOARDS}: 10 to 12 µA on the frugal ones")
SLEEP_PLAIN_MA = Figure(3.8, "mA", f"{BOARDS}: 3.8 mA on a common development board")
ASLEEP = {"chip": SLEEP_CHIP_MA, "frugal": SLEEP_FRUGAL_MA, "plain": SLEEP_PLAIN_MA}
AWAKE_MA = Figure(40, "mA", f"{MODULE}: 30 to 50 mA at 240 MHz, radio off")
START_S = Figure(1.2, "s", f"MicroPython starts and reads; {GUESS}")
CONVERSION_S = Figure(0.75, "s", "DS18B20 data sheet, page 25: 750 ms at 12 bit")
RADIO_MA = Figure(130, "mA", f"{RADIO}: receiving 110, sending 233; mostly it receives; {GUESS}")
RADIO_S = Figure(6, "s", f"Wi-Fi, address, time, TLS, messages; {GUESS}")
HEATER_MA = Figure(200 / 3.3, "mA", "200 mW at 3.3 V; power as in a public driver's manual (kernel hwmon sht4x)")
PULSE_S = Figure(1, "s", "the same")
PAUSE_S = Figure(10, "s", "the pause after a pulse, sht.py: the board stays awake")
SENSOR_IDLE_MA = Figure(0.00008, "mA", f"{SHT4X}: idle 80 nA")
DIVIDER_MA = Figure(4.5 / 1410, "mA", "4.5 V over 3 × 470 kΩ, Ohm's law")
DOOR_MA = Figure(3.3 / 470, "mA", "3.3 V over 470 kΩ while the door is closed, Ohm's law")

ALKALINE = Battery(
    "3 AA alkaline cells",
    Figure(2850, "mAh", f"{CELLS}: 2,850 mAh at low drain"),
    Figure(0.6, "", f"cold, and the end is reached before they are empty; {GUESS}"),
    Figure(0.03, "", f"loses 3 % a year; {MEMORY}"),
)
LITHIUM = Battery(
    "3 AA lithium cells (1.5 V, not rechargeable)",
    Figure(3000, "mAh", f"{CELLS}: 3,000 mAh"),
    Figure(0.9, "", f"hardly minds the cold; {MEMORY}"),
    Figure(0.01, "", f"loses 1 % a year; {MEMORY}"),
)
BATTERIES = (ALKALINE, LITHIUM)


def budget(habit: Habit, sleep: Figure = SLEEP_FRUGAL_MA) -> tuple[Item, ...]:
    """All uses in a day.

    Raises:
        ValueError: an interval or number of readings that is not positive.
    """
    if habit.interval_s < 1 or habit.send_every < 1:
        raise ValueError(f"interval_s and send_every must be at least 1, got {habit.interval_s} and {habit.send_every}")
    reads = DAY_S / habit.interval_s
    items = [
        Item("asleep", sleep.value, DAY_S, 1, sleep.source),
        Item("start and read", AWAKE_MA.value, START_S.value, reads, AWAKE_MA.source),
        Item("Wi-Fi and sending", RADIO_MA.value, RADIO_S.value, reads / habit.send_every, RADIO_MA.source),
        Item("air sensor, idle", SENSOR_IDLE_MA.value, DAY_S, 1, SENSOR_IDLE_MA.source),
        Item("measuring the battery", DIVIDER_MA.value, DAY_S, 1, DIVIDER_MA.source),
    ]
    if habit.surface_sensor:
        items.append(Item("waiting for the DS18B20", AWAKE_MA.value, CONVERSION_S.value, reads, CONVERSION_S.source))
    if habit.door:
        items.append(Item("door contact", DOOR_MA.value, DAY_S, 1, DOOR_MA.source))
    if habit.heat_pulses_a_day:
        items += heating(habit.heat_pulses_a_day)
    return tuple(items)


def heating(pulses: int) -> list[Item]:
    """The heater itself, and the board that stays awake for its pauses."""
    return [
        Item("heater", HEATER_MA.value, PULSE_S.value, pulses, HEATER_MA.source),
        Item("awake while heating", AWAKE_MA.value, PULSE_S.value + PAUSE_S.value, pulses, AWAKE_MA.source),
    ]


def days(battery: Battery, items: tuple[Item, ...]) -> float:
    """Days until empty, its own loss included."""
    use = sum(item.mah_a_day for item in items)
    return battery.usable_mah / (use + battery.capacity.value * battery.lost_a_year.value / 365)


def table(habit: Habit, sleep: Figure) -> str:
    """The budget and what comes of it, as text."""
    items = budget(habit, sleep)
    total = sum(item.mah_a_day for item in items)
    lines = [
        f"A reading every {habit.interval_s} s, sent {habit.send_every} at a time",
        "",
        f"{'use':<26}{'mA':>10}{'s':>9}{'a day':>8}{'mAh a day':>11}",
    ]
    lines += [
        f"{item.name:<26}{item.current_ma:>10.4f}{item.seconds:>9.2f}{item.times_a_day:>8.1f}{item.mah_a_day:>11.2f}"
        for item in items
    ]
    lines.append(f"{'together':<26}{total:>38.2f}")
    lines.append("")
    lines += [f"{battery.name}: {days(battery, items):.0f} days" for battery in BATTERIES]
    return "\n".join(lines) + "\n"


def sources() -> str:
    """Every figure with its source, as text."""
    figures = {name: value for name, value in globals().items() if isinstance(value, Figure)}
    lines = [f"{name}: {figure.value:.5g} {figure.unit}: {figure.source}" for name, figure in figures.items()]
    for battery in BATTERIES:
        own = (battery.capacity, battery.usable, battery.lost_a_year)
        lines += [f"{battery.name}: {figure.value:g} {figure.unit}: {figure.source}" for figure in own]
    return "\n".join(lines) + "\n"


def main(arguments: list[str] | None = None) -> None:
    parser = argparse.ArgumentParser(description="How long a probe's battery lasts")
    parser.add_argument("--interval", type=int, default=300, help="seconds between readings")
    parser.add_argument("--send-every", type=int, default=6, help="readings collected before the radio is used")
    parser.add_argument("--heat-pulses", type=int, default=3, help="heater pulses a day")
    parser.add_argument("--no-surface-sensor", action="store_true")
    parser.add_argument("--door", action="store_true")
    parser.add_argument("--board", choices=ASLEEP, default="frugal", help="how deeply it sleeps")
    parser.add_argument("--sleep-ma", type=float, help="what your board draws in deep sleep, measured")
    parser.add_argument("--sources", action="store_true", help="say where each figure comes from")
    given = parser.parse_args(arguments)
    if given.sources:
        print(sources(), end="")
        return
    habit = Habit(given.interval, given.send_every, given.heat_pulses, not given.no_surface_sensor, given.door)
    sleep = ASLEEP[given.board]
    if given.sleep_ma is not None:
        sleep = Figure(given.sleep_ma, "mA", "measured by you")
    try:
        print(table(habit, sleep), end="")
    except ValueError as error:
        parser.error(str(error))


if __name__ == "__main__":
    main()
