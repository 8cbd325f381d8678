"""Invented air of a cave with spells of known kinds in it; numbers are invented, their size is that of a home's fridge.

Every cave has a season, a cooler that cycles every half hour or so, and days that resemble each other. On top of
it come spells, each of one kind: that is what causes are planted with. All kinds come in every cave, so whoever looks
for one finds the others beside it.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
STEP_MS = 600_000
DAY_STEPS = 144
BAND_PCT = (80.0, 92.0)
WARMEST_C = 14.5
FIRST_D, LAST_D = 30.0, 45.0  # nothing is planted before the first month, nor so late that its note would come too late
OTHERS_EVERY_D = 70.0  # of each kind that is not the cause


@dataclass(frozen=True, slots=True)
class SpellKind:
    """What a spell does to the air and how long it lasts [d]; `short_d` to `long_d` later its note can be seen."""

    exposure: str
    least_d: float
    most_d: float
    short_d: float
    long_d: float


KINDS = {
    "damp": SpellKind("too_damp_h", 2.0, 6.0, 5.0, 15.0),
    "dry": SpellKind("too_dry_h", 2.0, 6.0, 2.0, 9.0),
    "warm": SpellKind("too_warm_h", 1.5, 5.0, 7.0, 21.0),
    "sweat": SpellKind("sweat_h", 2.0, 4.0, 1.0, 6.0),
    "fall": SpellKind("largest_fall_pct", 0.2, 0.4, 1.0, 6.0),
    "swing": SpellKind("swing_pct", 4.0, 7.0, 3.0, 10.0),
    "thirst": SpellKind("mean_deficit_pa", 9.0, 15.0, 5.0, 15.0),
}


@dataclass(frozen=True, slots=True)
class Spell:
    """One spell, in steps from the beginning of the record."""

    kind: str
    first: int
    after: int


def spells(drawn: np.random.Generator, days: int, cause: str, of_cause: int) -> list[Spell]:
    """So many spells of the cause, kept apart, and the other kinds at their usual rate."""
    found = [_spell(drawn, cause, at) for at in apart(drawn, days, of_cause, 15.0)] if cause in KINDS else []
    for kind in sorted(set(KINDS) - {cause}):
        count = int(drawn.poisson(days / OTHERS_EVERY_D))
        found += [_spell(drawn, kind, float(at)) for at in drawn.uniform(2, days - 18, count)]
    return sorted(found, key=lambda one: one.first)


def apart(drawn: np.random.Generator, days: int, count: int, least_gap_d: float) -> list[float]:
    """Days at random, none nearer to another than the gap."""
    room = days - FIRST_D - LAST_D - least_gap_d * (count - 1)
    if room < 0:
        raise ValueError(f"count of days must fit into {days} days with {least_gap_d:g} between them, got {count}")
    return [FIRST_D + float(d) + least_gap_d * i for i, d in enumerate(np.sort(drawn.uniform(0, room, count)))]


def _spell(drawn: np.random.Generator, kind: str, at_d: float) -> Spell:
    length_d = float(drawn.uniform(KINDS[kind].least_d, KINDS[kind].most_d))
    return Spell(kind, round(at_d * DAY_STEPS), round((at_d + length_d) * DAY_STEPS))


def air(drawn: np.random.Generator, days: int, found: list[Spell]) -> tuple[Floats, Floats]:
    """Temperature [degC] and humidity [%] on the ten-minute grid, the spells in it."""
    n = days * DAY_STEPS
    day = np.arange(n) / DAY_STEPS
    season = np.sin(2 * np.pi * (day / 365.25 + drawn.uniform()))
    temperature = 12.0 + 0.8 * season + _wandering(drawn, n, 3.0, 0.35)
    humidity = 86.5 + 1.2 * season + _wandering(drawn, n, 2.5, 1.3)
    cycle = np.sin(np.cumsum(2 * np.pi / (3.4 + 0.5 * drawn.standard_normal(n).clip(-2, 2))))
    swing = np.full(n, 3.0)
    for spell in found:
        _lay(drawn, spell, temperature, humidity, swing)
    humidity = humidity + swing * cycle + 0.4 * drawn.standard_normal(n)
    temperature = temperature - 0.12 * swing * cycle + 0.05 * drawn.standard_normal(n)
    return temperature, np.clip(humidity, 30.0, 100.0)


def _wandering(drawn: np.random.Generator, n: int, days: float, spread: float) -> Floats:
    """A first-order autocorrelated course with this memory and spread, drawn by the hour and joined by lines."""
    hours = n // 6 + 2
    rho = np.exp(-1 / (24 * days))
    noise = drawn.standard_normal(hours) * spread * np.sqrt(1 - rho**2)
    course = np.empty(hours)
    level = spread * drawn.standard_normal()
    for i in range(hours):
        level = rho * level + noise[i]
        course[i] = level
    return np.interp(np.arange(n) / 6, np.arange(hours), course)


def _lay(drawn: np.random.Generator, spell: Spell, temperature: Floats, humidity: Floats, swing: Floats) -> None:
    """A spell comes in over some hours and goes as it came."""
    steps = np.arange(spell.first, min(spell.after, len(humidity)))
    edge = np.minimum(1.0, np.minimum(steps - spell.first + 1, spell.after - steps) / 24)
    size = float(drawn.uniform(0.8, 1.2))
    if spell.kind == "damp":
        humidity[steps] += 8.0 * size * edge
    elif spell.kind == "dry":
        humidity[steps] -= 9.0 * size * edge
    elif spell.kind == "warm":
        temperature[steps] += 3.5 * size * edge
    elif spell.kind == "swing":
        swing[steps] += 5.0 * size * edge
    elif spell.kind == "thirst":
        humidity[steps] -= 4.0 * size * edge
    elif spell.kind == "fall":
        humidity[steps] -= 26.0 * size * np.minimum(1.0, np.minimum(steps - spell.first + 1, spell.after - steps) / 6)
    else:
        _let_in_warm_air(spell, size, temperature, humidity)


def _let_in_warm_air(spell: Spell, size: float, temperature: Floats, humidity: Floats) -> None:
    """Twice a day for three hours, warm and damp."""
    for first in range(spell.first, min(spell.after, len(humidity)), DAY_STEPS // 2):
        steps = slice(first, min(first + 18, len(humidity)))
        temperature[steps] += 4.0 * size
        humidity[steps] = np.maximum(humidity[steps], 91.0)


def known(drawn: np.random.Generator, n: int) -> Floats:
    """The share of each step that readings speak for: short gaps, and one outage of some days a year."""
    share = np.ones(n)
    for _ in range(int(drawn.poisson(n / DAY_STEPS / 12))):
        first = int(drawn.integers(0, n))
        share[first : first + int(drawn.integers(6, 60))] = 0.0
    for _ in range(int(drawn.poisson(n / DAY_STEPS / 365))):
        first = int(drawn.integers(0, n))
        share[first : first + int(drawn.integers(2, 6)) * DAY_STEPS] = 0.0
    return share
