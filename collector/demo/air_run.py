"""Runs the rooms through whole UTC days, each from its own start two days before, so that no day needs another.

Two days are six times the slowest memory that a room has (its vault's skin, eight hours): what is left of a wrong
start is under a hundredth of a kelvin. The phase of a cooler would be remembered for ever; the rest of the plates
before midnight ends each night alike, and the days of a cycling fridge meet there.
"""

from dataclasses import dataclass

import numpy as np

from collector.demo.balance import step
from collector.demo.driving import FILLED_MINUTE, drive_of, outside_of, surroundings_of
from collector.demo.incidents import IncidentKind, worst
from collector.demo.noise import FloatArray
from collector.demo.openings import MINUTE_MS, MINUTES_A_DAY
from collector.demo.probes import LEAD_IN
from collector.demo.rooms import DRIVE_NAMES, BoolArray, Columns, Drive, RoomState
from collector.demo.scenario import World, incidents_of
from collector.demo.vapour import saturated_kg_m3
from collector.demo.weather import DAY_MS

SPIN_UP_D = 2


@dataclass(frozen=True, slots=True)
class DayAir:
    """The true air of a UTC day, a row for each minute from `LEAD_IN` minutes before it to its end.

    Columns are the world's rooms, then the counter, then outside.
    """

    day: int
    temperature_c: FloatArray
    vapour_kg_m3: FloatArray
    contents_c: FloatArray
    skin_c: FloatArray
    cooling: BoolArray
    pressure_pa: FloatArray


def start(world: World, days: list[int]) -> RoomState:
    """The state from which each day begins its run, `SPIN_UP_D` days before it: a guess that knows the season.

    Args:
        world: the world.
        days: the days to run.
    Returns:
        The state, shape (days, rooms).
    """
    rooms = world.scenario.rooms
    shape = (len(days), len(rooms))
    air_c = np.empty(shape)
    skin_c = np.empty(shape)
    tank_kg = np.empty(shape)
    for row, day in enumerate(days):
        first = day - SPIN_UP_D
        near = surroundings_of(world.seed, first)
        for column, room in enumerate(rooms):
            air_c[row, column] = near.soil_c[0] if room.vented_outside else room.start_c
            behind_c = near.vault_c[0] if room.vented_outside else near.make_room_c[0]
            held = room.skin_w_k + room.behind_w_k
            outer_c = behind_c if room.inside is None else room.start_c
            skin_c[row, column] = (room.skin_w_k * air_c[row, column] + room.behind_w_k * outer_c) / held
            tank_kg[row, column] = room.humidifier.tank_kg * _was_filled(world, room.name, first)
    share = np.broadcast_to([room.start_pct / 100 for room in rooms], shape)
    return RoomState(
        air_c=air_c,
        contents_c=air_c,
        skin_c=skin_c,
        plate_c=air_c,
        vapour_kg_m3=share * saturated_kg_m3(air_c),
        boards_share=share,
        hygrostat_share=share,
        plate_film_kg=np.broadcast_to([0.5 * room.cooler.film_kg for room in rooms], shape),
        skin_film_kg=np.zeros(shape),
        tank_kg=tank_kg,
        cooling=np.zeros(shape, dtype=bool),
    )


def _was_filled(world: World, room: str, day: int) -> bool:
    # Tanks last longer than from one morning to the next, so yesterday's filling is all that counts.
    last = np.array([(day - 1) * DAY_MS + FILLED_MINUTE * MINUTE_MS])
    return not worst(incidents_of(world), IncidentKind.HUMIDIFIER_DRY, room, last).any()


def drives(world: World, days: list[int]) -> Drive:
    """What acts on the rooms over each day's run, arrays of shape (steps, days, rooms)."""
    needed = sorted({day - back for day in days for back in range(SPIN_UP_D + 1)})
    each = {day: drive_of(world, day) for day in needed}
    return Drive(*(_laid_out([getattr(each[day], name) for day in needed], needed, days) for name in DRIVE_NAMES))


def _laid_out(courses: list[np.ndarray], needed: list[int], days: list[int]) -> np.ndarray:
    by_day = dict(zip(needed, courses, strict=True))
    columns = [np.concatenate([by_day[day - back] for back in range(SPIN_UP_D, -1, -1)]) for day in days]
    return np.stack(columns, axis=1)


def run(world: World, days: list[int]) -> list[DayAir]:
    """The true air of some UTC days.

    Args:
        world: the world.
        days: days since 1970-01-01 UTC, any, in any order; running many at once is much the quicker way.
    Returns:
        One a day, the same whatever other days ran with it.
    """
    rooms = Columns.of(world.scenario.rooms)
    drive = drives(world, days)
    state = start(world, days)
    steps = (SPIN_UP_D + 1) * MINUTES_A_DAY
    kept_from = SPIN_UP_D * MINUTES_A_DAY - LEAD_IN
    kept: list[RoomState] = []
    for now in range(steps):
        state, _ = step(state, drive.at(now), rooms)
        if now >= kept_from:
            kept.append(state)
    return [_day_air(world, day, kept, row) for row, day in enumerate(days)]


def _day_air(world: World, day: int, kept: list[RoomState], row: int) -> DayAir:
    before, today = outside_of(world.seed, day - 1), outside_of(world.seed, day)
    indoors_before, indoors = surroundings_of(world.seed, day - 1), surroundings_of(world.seed, day)
    counter_c = _joined(indoors_before.make_room_c, indoors.make_room_c)
    counter_kg_m3 = _joined(indoors_before.make_room_kg_m3, indoors.make_room_kg_m3)
    outside_c = _joined(before.temperature_c, today.temperature_c)
    outside_kg_m3 = _joined(before.vapour_kg_m3, today.vapour_kg_m3)
    closed = np.stack((counter_c, outside_c), axis=1)
    return DayAir(
        day=day,
        temperature_c=np.hstack((np.array([state.air_c[row] for state in kept]), closed)),
        vapour_kg_m3=np.hstack(
            (
                np.array([state.vapour_kg_m3[row] for state in kept]),
                np.stack((counter_kg_m3, outside_kg_m3), axis=1),
            )
        ),
        contents_c=np.hstack((np.array([state.contents_c[row] for state in kept]), closed)),
        skin_c=np.hstack((np.array([state.skin_c[row] for state in kept]), closed)),
        cooling=np.array([state.cooling[row] for state in kept]),
        pressure_pa=_joined(before.pressure_pa, today.pressure_pa),
    )


def _joined(before: FloatArray, today: FloatArray) -> FloatArray:
    return np.concatenate((before[-LEAD_IN:], today))
