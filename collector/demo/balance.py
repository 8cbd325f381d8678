"""One step of heat and water in the demo's rooms: pure, vectorised over days and rooms.

The air is solved implicitly (it is small and quick: explicit steps of a minute would overshoot), everything else
takes exactly what the air gave. So each balance closes to rounding: what left one store is in another.
Left out, because the probes would not show it: freezing on the plate (latent heat of fusion), the heat that vapour
carries beyond its latent heat, and what a box inside a fridge does to the fridge.
"""

from dataclasses import dataclass, replace

import numpy as np

from collector.demo.noise import FloatArray
from collector.demo.rooms import STEP_S, BoolArray, Columns, Drive, Flows, RoomState
from collector.demo.vapour import saturated_kg_m3
from collector.moist_air import WATER_GAS_CONSTANT
from collector.saturation import KELVIN_AT_0_C

# Air at 12 degC, 101325 Pa: density 1.238 kg/m3; latent heat of water there (computed with CoolProp 8.0.0).
AIR_J_M3_K = 1.238 * 1006.0
LATENT_J_KG = 2.4727e6
# Lewis relation: mass exchange [m3/s] per heat exchange [W/K] is 1 / (rho c_p Le^(2/3)), Le^(2/3) 0.905 at 12 degC.
LEWIS_M3_J = 1 / (AIR_J_M3_K * 0.905)
# A compressor gives less the colder its plate is: some 3.5 % a kelvin (common practice, no source).
COLDER_IS_WEAKER = 0.035
# The hygrostat's element follows the air within ten minutes; a wick passes less as its last third dries.
HYGROSTAT_FOLLOWS = STEP_S / 600
WICK_DRIES_BELOW = 0.35
# A wall or ceiling holds so much water before it drips, by its exchange of heat (about 10 g on a square metre).
SKIN_FILM_KG_W_K = 0.0025
# A difference of vapour too small to matter, which keeps a quotient finite.
LEAST_KG_M3 = 1e-12


@dataclass(frozen=True, slots=True)
class _Switched:
    """What thermostat and hygrostat did: the compressor, the tank before it gave, and what the wick gave."""

    cooling: BoolArray
    tank_kg: FloatArray
    mist_kg: FloatArray


@dataclass(frozen=True, slots=True)
class _Water:
    """What each surface and opening gave to the air in the step [kg], and the vapour after it."""

    exchange_kg: FloatArray
    wheels_kg: FloatArray
    boards_kg: FloatArray
    wet_kg: FloatArray
    plate_kg: FloatArray
    skin_kg: FloatArray
    vapour_kg_m3: FloatArray


def step(state: RoomState, drive: Drive, rooms: Columns) -> tuple[RoomState, Flows]:
    """Move the rooms on by one step.

    Args:
        state: the air before, shape (days, rooms).
        drive: what is done to it meanwhile, one step of it.
        rooms: how the rooms are built.
    Returns:
        The air after `STEP_S`, and what flowed.
    """
    near = _near(state, drive, rooms)
    switched = _switched(state, near, rooms)
    water = _water(state, near, rooms, switched.mist_kg)
    air_c = _air_c(state, near, rooms, switched.mist_kg)
    flows = _flows(state, near, rooms, switched, water, air_c)
    return _after(state, rooms, switched, water, air_c, flows), flows


def _near(state: RoomState, drive: Drive, rooms: Columns) -> Drive:
    # What stands around a box is the air of its fridge, as it was a step ago.
    nested = rooms.inside >= 0
    fridge_c = state.air_c[:, rooms.inside]
    return replace(
        drive,
        around_c=np.where(nested, fridge_c, drive.around_c),
        behind_c=np.where(nested, fridge_c, drive.behind_c),
        around_kg_m3=np.where(nested, state.vapour_kg_m3[:, rooms.inside], drive.around_kg_m3),
    )


def _switched(state: RoomState, drive: Drive, rooms: Columns) -> _Switched:
    above_k = state.air_c - drive.thermostat_off_k - rooms.target_c
    half_k = 0.5 * rooms.band_k
    wanted = (above_k > half_k) | (state.cooling & (above_k > -half_k))
    tank_kg = np.where(drive.filled, rooms.tank_kg, state.tank_kg)
    lacking = (rooms.setting_pct - 100 * state.hygrostat_share) / rooms.band_pct
    throttle = np.minimum(np.maximum(lacking, 0.0), 1.0)
    wick = np.minimum(tank_kg / (WICK_DRIES_BELOW * rooms.tank_kg), 1.0)
    mist_kg = rooms.most_kg_h * (STEP_S / 3600) * throttle * wick * drive.humidifier_share
    return _Switched(wanted & (drive.cooler_share > 0), tank_kg, np.minimum(mist_kg, tank_kg))


def _water(state: RoomState, drive: Drive, rooms: Columns, mist_kg: FloatArray) -> _Water:
    full = saturated_kg_m3(np.stack((state.air_c, state.contents_c, state.skin_c, state.plate_c)))
    air_full, contents_full, skin_full, plate_full = full
    vapour = state.vapour_kg_m3
    wheels_m3_s = drive.wheels_kg_s_pa * (WATER_GAS_CONSTANT * (state.contents_c + KELVIN_AT_0_C))
    # Each partner of the air: how much air it trades [m3/s] and at which vapour that air comes back [kg/m3].
    partners = (
        (drive.exchange_m3_s, drive.around_kg_m3),
        (wheels_m3_s, drive.wheels_activity * contents_full),
        (rooms.boards_m3_s, state.boards_share * contents_full),
        (rooms.wet_m3_s, rooms.wet_activity * contents_full),
        (drive.seep_m3_s, contents_full),
        (_film_m3_s(rooms.plate_w_k, state.plate_film_kg, vapour, plate_full), plate_full),
        (_film_m3_s(rooms.skin_w_k, state.skin_film_kg, vapour, skin_full), skin_full),
    )
    holds = rooms.volume_m3 / STEP_S
    pull, push = holds, holds * vapour + mist_kg / STEP_S
    for trade_m3_s, level in partners:
        pull = pull + trade_m3_s
        push = push + trade_m3_s * level
    new = push / pull
    exchange, wheels, boards, wet, seep, plate, skin = (STEP_S * m3_s * (level - new) for m3_s, level in partners)
    plate = np.minimum(plate, state.plate_film_kg)
    skin = np.minimum(skin, state.skin_film_kg)
    gained_kg = exchange + wheels + boards + wet + seep + plate + skin + mist_kg
    # Fog settles on walls and ceiling within the step.
    fog_kg = np.maximum(rooms.volume_m3 * (vapour - air_full) + gained_kg, 0.0)
    after = vapour + (gained_kg - fog_kg) / rooms.volume_m3
    return _Water(exchange, wheels, boards, wet + seep, plate, skin - fog_kg, after)


def _film_m3_s(heat_w_k: FloatArray, film_kg: FloatArray, vapour: FloatArray, full: FloatArray) -> FloatArray:
    # Dew forms as fast as the air brings it; a film gives no more in a step than it has, and a dry one nothing.
    trade_m3_s = LEWIS_M3_J * heat_w_k
    spendable_m3_s = film_kg / (STEP_S * np.maximum(full - vapour, LEAST_KG_M3))
    return np.where(full > vapour, np.minimum(trade_m3_s, spendable_m3_s), trade_m3_s)


def _air_c(state: RoomState, drive: Drive, rooms: Columns, mist_kg: FloatArray) -> FloatArray:
    exchange_w_k = AIR_J_M3_K * drive.exchange_m3_s
    holds = rooms.air_j_k / STEP_S
    pull = holds + exchange_w_k + rooms.contents_w_k + rooms.skin_w_k + rooms.plate_w_k + rooms.ground_w_k
    push = holds * state.air_c + exchange_w_k * drive.around_c + rooms.contents_w_k * state.contents_c
    push += rooms.skin_w_k * state.skin_c + rooms.plate_w_k * state.plate_c + rooms.ground_w_k * drive.soil_c
    push += rooms.fan_w - (LATENT_J_KG / STEP_S) * mist_kg
    return push / pull


def _flows(
    state: RoomState, drive: Drive, rooms: Columns, switched: _Switched, water: _Water, air_c: FloatArray
) -> Flows:
    plate_left_kg = state.plate_film_kg - water.plate_kg
    skin_left_kg = state.skin_film_kg - water.skin_kg
    plate_drip_kg = np.maximum(plate_left_kg - rooms.film_kg, 0.0)
    skin_drip_kg = np.maximum(skin_left_kg - SKIN_FILM_KG_W_K * rooms.skin_w_k, 0.0)
    strength = np.maximum(1 + COLDER_IS_WEAKER * state.plate_c, 0.0)
    cold_w = rooms.power_w * drive.cooler_share * strength * switched.cooling
    return Flows(
        exchange_kg=water.exchange_kg,
        wheels_kg=water.wheels_kg,
        boards_kg=water.boards_kg,
        wet_kg=water.wet_kg,
        mist_kg=switched.mist_kg,
        plate_kg=water.plate_kg,
        skin_kg=water.skin_kg,
        plate_drip_kg=plate_drip_kg,
        skin_drip_kg=skin_drip_kg,
        exchange_j=STEP_S * AIR_J_M3_K * drive.exchange_m3_s * (drive.around_c - air_c),
        ground_j=STEP_S * rooms.ground_w_k * (drive.soil_c - air_c),
        behind_j=STEP_S * rooms.behind_w_k * (drive.behind_c - state.skin_c),
        cold_j=STEP_S * cold_w,
    )


def _after(
    state: RoomState, rooms: Columns, switched: _Switched, water: _Water, air_c: FloatArray, flows: Flows
) -> RoomState:
    evaporated_j = LATENT_J_KG * (water.wheels_kg + water.boards_kg + water.wet_kg)
    contents_j = STEP_S * rooms.contents_w_k * (air_c - state.contents_c) - evaporated_j
    skin_j = STEP_S * rooms.skin_w_k * (air_c - state.skin_c) + flows.behind_j - LATENT_J_KG * water.skin_kg
    plate_j = STEP_S * rooms.plate_w_k * (air_c - state.plate_c) - flows.cold_j - LATENT_J_KG * water.plate_kg
    share = water.vapour_kg_m3 / saturated_kg_m3(air_c)
    return RoomState(
        air_c=air_c,
        contents_c=state.contents_c + contents_j / rooms.contents_j_k,
        skin_c=state.skin_c + skin_j / rooms.skin_j_k,
        plate_c=state.plate_c + plate_j / rooms.plate_j_k,
        vapour_kg_m3=water.vapour_kg_m3,
        boards_share=state.boards_share - water.boards_kg / rooms.boards_kg,
        hygrostat_share=state.hygrostat_share + HYGROSTAT_FOLLOWS * (share - state.hygrostat_share),
        plate_film_kg=state.plate_film_kg - water.plate_kg - flows.plate_drip_kg,
        skin_film_kg=state.skin_film_kg - water.skin_kg - flows.skin_drip_kg,
        tank_kg=switched.tank_kg - switched.mist_kg,
        cooling=switched.cooling,
    )
