"""What acts on the rooms in each minute of a UTC day: weather, doors, incidents, timers, the wheels on the shelf."""

from functools import lru_cache

import numpy as np

from collector.demo.incidents import IncidentKind, worst
from collector.demo.noise import FloatArray, TimeArray, wander
from collector.demo.openings import MINUTE_MS, MINUTES_A_DAY, Opening, open_share, openings
from collector.demo.rooms import DRIVE_NAMES, BoolArray, Drive, Room
from collector.demo.scenario import World, incidents_of, wheels_in
from collector.demo.surroundings import Surroundings, surroundings
from collector.demo.weather import DAY_MS, HOUR_MS, OutsideAir, outside, season
from collector.demo.wheels import shelf

# The keeper fills the humidifiers on the morning round.
FILLED_MINUTE = 400
NOON_MS = DAY_MS // 2
# Wind and the stack effect blow through gaps by fits (own choice).
WIND_SHARE = 0.5
WIND_KNOT_MS = 4 * HOUR_MS
# Wicks fur up and are rinsed when somebody thinks of it; old thermostats are not quite faithful (own choice).
WICK_SHARE, WICK_LEAST, WICK_KNOT_MS = 0.28, 0.4, 60 * HOUR_MS
THERMOSTAT_OFF_K, THERMOSTAT_KNOT_MS = 0.22, 90 * HOUR_MS


def minutes_of(day: int) -> TimeArray:
    """The minutes of a UTC day [ms since 1970, UTC], shape (1440,)."""
    return day * DAY_MS + MINUTE_MS * np.arange(MINUTES_A_DAY, dtype=np.int64)


@lru_cache(maxsize=48)
def outside_of(seed: int, day: int) -> OutsideAir:
    """The air outside in each minute of a UTC day."""
    return outside(seed, minutes_of(day))


@lru_cache(maxsize=48)
def surroundings_of(seed: int, day: int) -> Surroundings:
    """Make room, soil and vault in each minute of a UTC day."""
    return surroundings(seed, minutes_of(day))


def openings_of(world: World, room: str, day: int) -> tuple[Opening, ...]:
    """When the door of a room stands open on a UTC day."""
    return openings(world.seed, room, world.scenario.visits_to(room), day)


def drive_of(world: World, day: int) -> Drive:
    """What acts on all rooms of a world in each minute of a UTC day.

    Args:
        world: the world.
        day: days since 1970-01-01 UTC.
    Returns:
        The drive, arrays of shape (1440, rooms).
    """
    columns = [_drive_of_room(world, room, day) for room in world.scenario.rooms]
    return Drive(*(np.stack([getattr(column, name) for column in columns], axis=1) for name in DRIVE_NAMES))


def _drive_of_room(world: World, room: Room, day: int) -> Drive:
    at_ms = minutes_of(day)
    out, near = outside_of(world.seed, day), surroundings_of(world.seed, day)
    cut = worst(incidents_of(world), IncidentKind.POWER_CUT, None, at_ms)
    dry = worst(incidents_of(world), IncidentKind.HUMIDIFIER_DRY, room.name, at_ms)
    damp = worst(incidents_of(world), IncidentKind.DAMP_SPELL, room.name, at_ms)
    open_k, activity = shelf(wheels_in(world), room.name, day * DAY_MS + NOON_MS)
    return Drive(
        around_c=out.temperature_c if room.vented_outside else near.make_room_c,
        around_kg_m3=out.vapour_kg_m3 if room.vented_outside else near.make_room_kg_m3,
        soil_c=near.soil_c,
        behind_c=near.vault_c if room.vented_outside else near.make_room_c,
        exchange_m3_s=_exchange(world, room, day),
        seep_m3_s=room.seep_m3_s * damp,
        thermostat_off_k=THERMOSTAT_OFF_K * wander(world.seed, f"thermostat/{room.name}", at_ms, THERMOSTAT_KNOT_MS),
        cooler_share=_cooler_share(world, room, day) * (1 - cut),
        humidifier_share=_wick(world, room, day) * (1 - dry) * (1 - cut),
        filled=_filled(dry),
        wheels_kg_s_pa=np.full(MINUTES_A_DAY, open_k),
        wheels_activity=np.full(MINUTES_A_DAY, activity),
    )


def _exchange(world: World, room: Room, day: int) -> FloatArray:
    at_ms = minutes_of(day)
    summer = 0.5 + 0.5 * season(at_ms)
    wind = np.maximum(1 + WIND_SHARE * wander(world.seed, f"wind/{room.name}", at_ms, WIND_KNOT_MS), 0.15)
    leak = room.leak_m3_s * wind * (1 - (1 - room.summer_leak) * summer)
    # In a damp spell the keeper has stopped the vent, thinking that the wet comes in through it.
    leak = leak * (1 - 0.7 * worst(incidents_of(world), IncidentKind.DAMP_SPELL, room.name, at_ms))
    door = room.door_m3_s * open_share(openings_of(world, room.name, day), day)
    ajar = room.ajar_m3_s * worst(incidents_of(world), IncidentKind.DOOR_AJAR, room.name, at_ms)
    return leak + np.maximum(door, ajar)


def _wick(world: World, room: Room, day: int) -> FloatArray:
    furred = wander(world.seed, f"wick/{room.name}", minutes_of(day), WICK_KNOT_MS)
    return np.minimum(np.maximum(1 - WICK_SHARE + WICK_SHARE * furred, WICK_LEAST), 1.0)


def _cooler_share(world: World, room: Room, day: int) -> FloatArray:
    lost = worst(incidents_of(world), IncidentKind.COOLER_FAILING, room.name, minutes_of(day))
    share = 1 - lost
    if room.cooler.rest_min:
        share[-room.cooler.rest_min :] = 0.0
    return share


def _filled(dry: FloatArray) -> BoolArray:
    filled = np.zeros(MINUTES_A_DAY, dtype=bool)
    filled[FILLED_MINUTE] = dry[FILLED_MINUTE] == 0
    return filled
