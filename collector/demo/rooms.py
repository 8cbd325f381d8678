"""A room of the demo: how it is built, the state of its air, what is done to it in one step, and what then flowed.

All rooms are columns of one table and all days rows, so one step of the clock serves every room of every day.
"""

from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from collector.demo.noise import FloatArray

BoolArray = NDArray[np.bool_]

STEP_S = 60.0


@dataclass(frozen=True, slots=True)
class Cooler:
    """A cold plate, a compressor and a thermostat; a power of 0 is a room without one.

    The plate rests for `rest_min` before midnight UTC, when a timer takes the compressor off so that it thaws.
    """

    power_w: float = 0.0
    target_c: float = 0.0
    band_k: float = 1.0
    plate_w_k: float = 0.0
    plate_j_k: float = 4_000.0
    film_kg: float = 0.03
    rest_min: int = 0


@dataclass(frozen=True, slots=True)
class Humidifier:
    """A fan that blows through a wet wick; the hygrostat throttles it over `band_pct` below its setting."""

    most_kg_h: float = 0.0
    setting_pct: float = 0.0
    band_pct: float = 4.0
    tank_kg: float = 1.0


@dataclass(frozen=True, slots=True)
class Room:
    """One room, fridge or box; heat in W/K and J/K, exchange of air and of water in m3/s of air.

    Attributes:
        name: the place whose air this is.
        inside: the room that it stands in; None stands in the make room, or outside if `vented_outside`.
        vented_outside: leaks and doors exchange air with the outside, not with the make room.
        ground_w_k: from the air straight to the soil.
        skin_w_k, skin_j_k, behind_w_k: wall or ceiling: from the air to it, its heat, from it to what is behind.
        contents_w_k, contents_j_k: cheese, boards and liner.
        leak_m3_s: air through gaps and vents; `summer_leak` is the share that the keeper leaves open in summer.
        door_m3_s, ajar_m3_s: through the open door, and through one not quite closed.
        boards_m3_s, boards_kg: exchange with the boards, and the water that they hold between 0 and 100 %.
        wet_m3_s, wet_activity: lasting wet things (a lime wall, a tray, a damp cloth) and their water activity.
        seep_m3_s: exchange with a wet floor when the drain has backed up.
        fan_w: heat of a fan that always turns.
    """

    name: str
    volume_m3: float
    air_j_k: float
    contents_j_k: float
    contents_w_k: float
    skin_j_k: float
    skin_w_k: float
    behind_w_k: float
    leak_m3_s: float
    door_m3_s: float
    ajar_m3_s: float
    boards_m3_s: float
    boards_kg: float
    wet_m3_s: float
    wet_activity: float
    start_c: float
    start_pct: float
    ground_w_k: float = 0.0
    seep_m3_s: float = 0.0
    fan_w: float = 0.0
    summer_leak: float = 1.0
    vented_outside: bool = False
    inside: str | None = None
    cooler: Cooler = Cooler()
    humidifier: Humidifier = Humidifier()


@dataclass(frozen=True, slots=True)
class Columns:
    """The rooms' numbers as arrays of shape (rooms,), under the names that `Room` gives them."""

    volume_m3: FloatArray
    air_j_k: FloatArray
    contents_j_k: FloatArray
    contents_w_k: FloatArray
    skin_j_k: FloatArray
    skin_w_k: FloatArray
    behind_w_k: FloatArray
    boards_m3_s: FloatArray
    boards_kg: FloatArray
    wet_m3_s: FloatArray
    wet_activity: FloatArray
    ground_w_k: FloatArray
    fan_w: FloatArray
    power_w: FloatArray
    target_c: FloatArray
    band_k: FloatArray
    plate_w_k: FloatArray
    plate_j_k: FloatArray
    film_kg: FloatArray
    most_kg_h: FloatArray
    setting_pct: FloatArray
    band_pct: FloatArray
    tank_kg: FloatArray
    inside: NDArray[np.intp]

    @classmethod
    def of(cls, rooms: tuple[Room, ...]) -> "Columns":
        """Stack the rooms; a room inside another comes after it and knows its column, the others have -1."""
        names = [room.name for room in rooms]
        inside = np.array([-1 if room.inside is None else names.index(room.inside) for room in rooms])
        columns = {
            field.name: np.array([_number(room, field.name) for room in rooms])
            for field in fields(cls)
            if field.name != "inside"
        }
        return cls(inside=inside, **columns)


def _number(room: Room, name: str) -> float:
    for part in (room, room.cooler, room.humidifier):
        if hasattr(part, name):
            return float(getattr(part, name))
    raise AttributeError(f"no part of room {room.name} has a {name}")


@dataclass(frozen=True, slots=True)
class RoomState:
    """The air and what touches it, shape (days, rooms): [degC], [kg/m3], [kg], relative humidity as a share."""

    air_c: FloatArray
    contents_c: FloatArray
    skin_c: FloatArray
    plate_c: FloatArray
    vapour_kg_m3: FloatArray
    boards_share: FloatArray
    hygrostat_share: FloatArray
    plate_film_kg: FloatArray
    skin_film_kg: FloatArray
    tank_kg: FloatArray
    cooling: BoolArray


@dataclass(frozen=True, slots=True)
class Drive:
    """What is done to the rooms: shape (steps, ..., rooms), or (..., rooms) for one step.

    Surroundings [degC, kg/m3], exchange [m3/s], by how much the thermostat reads too little [K], cooler and humidifier
    as the share of their health (0 is dead or without power), the wheels' open area times flux coefficient [kg/s/Pa]
    and their mean water activity.
    """

    around_c: FloatArray
    around_kg_m3: FloatArray
    soil_c: FloatArray
    behind_c: FloatArray
    exchange_m3_s: FloatArray
    seep_m3_s: FloatArray
    thermostat_off_k: FloatArray
    cooler_share: FloatArray
    humidifier_share: FloatArray
    filled: BoolArray
    wheels_kg_s_pa: FloatArray
    wheels_activity: FloatArray

    def at(self, step: int) -> "Drive":
        """One step out of all."""
        return Drive(*(getattr(self, name)[step] for name in DRIVE_NAMES))


DRIVE_NAMES = tuple(field.name for field in fields(Drive))


@dataclass(frozen=True, slots=True)
class Flows:
    """What moved in one step, shape (days, rooms): water [kg] and heat [J] into the air, by where it came from.

    The plate's and the skin's films give (+) and take (-); what they could not hold dripped out of the room.
    `behind_j` goes into the skin; `cold_j` is what the compressor took from the plate.
    """

    exchange_kg: FloatArray
    wheels_kg: FloatArray
    boards_kg: FloatArray
    wet_kg: FloatArray
    mist_kg: FloatArray
    plate_kg: FloatArray
    skin_kg: FloatArray
    plate_drip_kg: FloatArray
    skin_drip_kg: FloatArray
    exchange_j: FloatArray
    ground_j: FloatArray
    behind_j: FloatArray
    cold_j: FloatArray
