"""Shall I open the door? What outside air would do to a cave's; pure. The coming hours are in `airing_hours`.

Not the relative humidity decides but the water in the air: summer air at 60 % holds more water than a cave at 90 %, and
drips on what is cold. So both airs are compared by their vapour at the cave's temperature, where walls and wheels will
bring whatever comes in. Numbers only; the words are made where they are shown.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from collector.limits import within
from collector.moist_air import (
    STANDARD_PRESSURE_PA,
    WATER_GAS_CONSTANT,
    WATER_TO_AIR_MASS,
    dew_point_c,
    humidity_pct_at,
    humidity_ratio_g_kg,
    vapour_pressure_pa,
)
from collector.saturation import KELVIN_AT_0_C, OVER_WATER

Want = Literal["drier", "damper", "cooler", "warmer"]
Place = Literal["wheels", "surface", "air"]

LEAST_WATER_G_M3 = 0.2  # our choice: below it an hour of airing is not felt in a cave
LEAST_CHANGE_K = 0.5  # our choice
EXCHANGED = 0.5  # share of the cave's air that a few minutes of open door change: our choice


@dataclass(frozen=True, slots=True)
class AirNow:
    """An air as it was read, with standard uncertainties; those of the default are an unchecked probe's."""

    temperature_c: float
    humidity_pct: float
    temperature_u_k: float = 0.3
    humidity_u_pct: float = 3.0


@dataclass(frozen=True, slots=True)
class Mixed:
    """The cave's air right after half of it was exchanged, and once walls and wheels have brought it back.

    `fog` says that the mixture cannot hold its water; `settled_pct` of 100 that the rest has gone onto something cold.
    """

    temperature_c: float
    humidity_pct: float
    fog: bool
    settled_pct: float


@dataclass(frozen=True, slots=True)
class Airing:
    """What opening the door now would do.

    Args:
        water_g_m3: water that a cubic metre of outside air brings, at the cave's temperature; below 0 it takes some.
        water_u_g_m3: its standard uncertainty.
        change_k: outside temperature less the cave's.
        inside_dew_c, outside_dew_c: dew points.
        mixed: the air afterwards.
        condenses_on: where water would come down.
        effects: what it does for sure: drier, damper, cooler, warmer.
    """

    water_g_m3: float
    water_u_g_m3: float
    change_k: float
    inside_dew_c: float
    outside_dew_c: float
    mixed: Mixed
    condenses_on: tuple[Place, ...]
    effects: tuple[Want, ...]

    def worth_it(self, wants: tuple[Want, ...]) -> bool | None:
        """True when it does something wanted, nothing unwanted, and wets nothing; None when nothing is wanted."""
        if not wants:
            return None
        harms = {_OPPOSITE[want] for want in wants}
        return bool(set(self.effects) & set(wants)) and not set(self.effects) & harms and not self.condenses_on


_OPPOSITE: dict[Want, Want] = {"drier": "damper", "damper": "drier", "cooler": "warmer", "warmer": "cooler"}


def advise(inside: AirNow, outside: AirNow, surface_c: float | None = None) -> Airing:
    """What opening the door now would do to a cave.

    Args:
        inside, outside: the two airs [degC, -30 to 60; %, 0 < x <= 100]; one typed reading each is enough.
        surface_c: the coldest surface that is known, ceiling or wall [degC], or None.
    Returns:
        Numbers, for words to be made of.
    Raises:
        ValueError: a value outside its range or a NaN.
    Source: mixing of two airs by their mass of dry air (ASHRAE Fundamentals 2017, chapter 1); the rest as
        `collector.moist_air`; thresholds are our choice.
    """
    for name, air in (("inside", inside), ("outside", outside)):
        within(f"temperature_c {name}", air.temperature_c, -30, 60, "degC")
        if np.isnan([air.temperature_c, air.humidity_pct]).any():
            raise ValueError(f"the air {name} must be known, got {air.temperature_c} degC, {air.humidity_pct} %")
    ours, theirs = (float(vapour_pressure_pa(a.temperature_c, a.humidity_pct)) for a in (inside, outside))
    water, change_k = water_g_m3(theirs - ours, inside.temperature_c), outside.temperature_c - inside.temperature_c
    water_u = float(np.hypot(_vapour_u_pa(inside), _vapour_u_pa(outside)))
    outside_dew = float(dew_point_c(outside.temperature_c, outside.humidity_pct))
    mixed = _mixed(inside, outside)
    u_g_m3 = water_g_m3(water_u, inside.temperature_c)
    return Airing(
        water_g_m3=water,
        water_u_g_m3=u_g_m3,
        change_k=change_k,
        inside_dew_c=float(dew_point_c(inside.temperature_c, inside.humidity_pct)),
        outside_dew_c=outside_dew,
        mixed=mixed,
        condenses_on=condenses_on(outside_dew, inside.temperature_c, surface_c, fog=mixed.fog),
        effects=_effects(water, u_g_m3, change_k, float(np.hypot(inside.temperature_u_k, outside.temperature_u_k))),
    )


def wanted(
    temperature_c: float | None,
    humidity_pct: float | None,
    temperature_band_c: tuple[float | None, float | None],
    humidity_band_pct: tuple[float | None, float | None],
) -> tuple[Want, ...]:
    """What a cave's air should become to be within its target: () when nothing, or when it is not known."""
    found: list[Want] = []
    sides: tuple[tuple[float | None, tuple[float | None, float | None], Want, Want], ...] = (
        (humidity_pct, humidity_band_pct, "damper", "drier"),
        (temperature_c, temperature_band_c, "warmer", "cooler"),
    )
    for value, (low, high), more, less in sides:
        if value is not None and low is not None and value < low:
            found.append(more)
        if value is not None and high is not None and value > high:
            found.append(less)
    return tuple(found)


def water_g_m3(vapour_pa: float, temperature_c: float) -> float:
    """Water in a cubic metre [g] for a vapour pressure [Pa], or for a difference of two, at a temperature [degC]."""
    return 1000 * vapour_pa / (WATER_GAS_CONSTANT * (temperature_c + KELVIN_AT_0_C))


def _vapour_u_pa(air: AirNow) -> float:
    """Standard uncertainty of a vapour pressure from those of temperature and humidity, taken as independent."""
    per_k = float(OVER_WATER.slope_per_k(np.asarray(air.temperature_c + KELVIN_AT_0_C)))
    share = np.hypot(air.humidity_u_pct / air.humidity_pct, per_k * air.temperature_u_k)
    return float(vapour_pressure_pa(air.temperature_c, air.humidity_pct) * share)


def _mixed(inside: AirNow, outside: AirNow) -> Mixed:
    """Half of each by mass of dry air; the small difference of their heat capacities is left out (0.1 K at most)."""
    ours, theirs = (float(humidity_ratio_g_kg(a.temperature_c, a.humidity_pct)) for a in (inside, outside))
    ratio = ((1 - EXCHANGED) * ours + EXCHANGED * theirs) / 1000
    temperature = (1 - EXCHANGED) * inside.temperature_c + EXCHANGED * outside.temperature_c
    vapour = STANDARD_PRESSURE_PA * ratio / (WATER_TO_AIR_MASS + ratio)
    humidity = float(humidity_pct_at(temperature, vapour))
    settled = float(humidity_pct_at(inside.temperature_c, vapour))
    return Mixed(temperature, min(humidity, 100.0), humidity > 100, min(settled, 100.0))


def condenses_on(
    outside_dew_c: float, inside_c: float, surface_c: float | None, *, fog: bool = False
) -> tuple[Place, ...]:
    """Where water comes down: wheels near the door meet the outside air itself, and are as cold as the cave."""
    found: list[Place] = ["wheels"] if outside_dew_c > inside_c else []
    found += ["surface"] if surface_c is not None and outside_dew_c > surface_c else []
    return (*found, "air") if fog else tuple(found)


def _effects(water: float, water_u: float, change_k: float, change_u: float) -> tuple[Want, ...]:
    found: list[Want] = []
    if abs(water) > max(LEAST_WATER_G_M3, water_u):
        found.append("damper" if water > 0 else "drier")
    if abs(change_k) > max(LEAST_CHANGE_K, change_u):
        found.append("warmer" if change_k > 0 else "cooler")
    return tuple(found)
