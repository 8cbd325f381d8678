from dataclasses import fields, replace

import numpy as np
import pytest

from collector.demo.air_run import drives, start
from collector.demo.balance import AIR_J_M3_K, LATENT_J_KG, LEWIS_M3_J, step
from collector.demo.rooms import STEP_S, Columns, Drive, Flows, RoomState
from collector.demo.vapour import humidity_pct, saturated_kg_m3

DAY = 20_400
CELLAR, WASHED, COLD, BOX = range(4)


def ran(world, day: int = DAY, **changes) -> tuple[Columns, list[RoomState], list[Flows]]:
    """A day's run with its two days before, every step of it kept; changes are laid over the drive."""
    rooms = Columns.of(world.scenario.rooms)
    drive = drives(world, [day])
    drive = replace(drive, **{name: np.full_like(getattr(drive, name), value) for name, value in changes.items()})
    states, flows = [start(world, [day])], []
    for now in range(drive.around_c.shape[0]):
        state, flow = step(states[-1], drive.at(now), rooms)
        states.append(state)
        flows.append(flow)
    return rooms, states, flows


@pytest.fixture(scope="module")
def run(world):
    return ran(world)


def total(flows: list[Flows], name: str) -> np.ndarray:
    return np.sum([getattr(flow, name)[0] for flow in flows], axis=0)


def test_the_water_of_each_room_is_accounted_for(run):
    rooms, states, flows = run

    def held(state: RoomState) -> np.ndarray:
        in_air = rooms.volume_m3 * state.vapour_kg_m3[0]
        return in_air + rooms.boards_kg * state.boards_share[0] + state.plate_film_kg[0] + state.skin_film_kg[0]

    came = sum(total(flows, name) for name in ("exchange_kg", "wheels_kg", "wet_kg", "mist_kg"))
    dripped = total(flows, "plate_drip_kg") + total(flows, "skin_drip_kg")
    assert held(states[-1]) - held(states[0]) == pytest.approx(came - dripped, abs=1e-9)
    # Not the empty truth that nothing moved: each room traded many times the 10 g that a cubic metre of its air holds.
    traded = np.sum([np.abs(flow.exchange_kg[0]) + np.abs(flow.boards_kg[0]) for flow in flows], axis=0)
    assert (traded > 3 * rooms.volume_m3 * 0.01).all()


def test_the_heat_of_each_room_is_accounted_for(run):
    rooms, states, flows = run

    def held(state: RoomState) -> np.ndarray:
        return (
            rooms.air_j_k * state.air_c[0]
            + rooms.contents_j_k * state.contents_c[0]
            + rooms.skin_j_k * state.skin_c[0]
            + rooms.plate_j_k * state.plate_c[0]
        )

    came = sum(total(flows, name) for name in ("exchange_j", "ground_j", "behind_j")) - total(flows, "cold_j")
    came += STEP_S * rooms.fan_w * len(flows)
    evaporated = ("wheels_kg", "boards_kg", "wet_kg", "mist_kg", "plate_kg", "skin_kg")
    came -= LATENT_J_KG * sum(total(flows, name) for name in evaporated)
    # The largest sums are some 1e7 J; doubles round them at 1e-9 J a step.
    assert held(states[-1]) - held(states[0]) == pytest.approx(came, abs=0.05)
    assert (total(flows, "cold_j")[[WASHED, COLD]] > 1e6).all()


def test_no_store_of_water_goes_below_nothing(run):
    _, states, _ = run
    for name in ("vapour_kg_m3", "boards_share", "plate_film_kg", "skin_film_kg", "tank_kg"):
        assert min(getattr(state, name).min() for state in states) >= -1e-15, name


def test_the_tank_gives_what_the_wick_gave(run):
    rooms, states, flows = run
    for before, after, flow in zip(states, states[1:], flows, strict=False):
        gave = before.tank_kg - after.tank_kg
        was_filled = gave < -1e-12
        assert np.where(was_filled, rooms.tank_kg - after.tank_kg, gave) == pytest.approx(flow.mist_kg)


def still(world) -> tuple[RoomState, Drive, Columns]:
    """Rooms at 8 degC and 90 % in surroundings of the same air, wet things and wheels at 0.9 too."""
    rooms = Columns.of(world.scenario.rooms)
    rooms = replace(rooms, fan_w=0 * rooms.fan_w, wet_activity=0 * rooms.fan_w + 0.9, inside=0 * rooms.inside - 1)
    shape = (1, 4)
    c, nothing = np.full(shape, 8.0), np.zeros(shape)
    vapour = 0.9 * saturated_kg_m3(c)
    share = np.full(shape, 0.9)
    state = RoomState(c, c, c, c, vapour, share, share, nothing, nothing, nothing, np.zeros(shape, bool))
    off = {field.name: nothing for field in fields(Drive)} | {"filled": np.zeros(shape, bool)}
    off |= {"around_c": c, "around_kg_m3": vapour, "soil_c": c, "behind_c": c, "exchange_m3_s": nothing + 1e-3}
    off |= {"wheels_kg_s_pa": nothing + 1e-8, "wheels_activity": share}
    return state, Drive(**off), rooms


def test_nothing_happens_in_a_room_at_rest_with_its_surroundings(world):
    state, drive, rooms = still(world)
    after, flows = step(state, drive, rooms)
    assert after.air_c == pytest.approx(state.air_c)
    assert after.vapour_kg_m3 == pytest.approx(state.vapour_kg_m3, rel=1e-12)
    assert flows.wheels_kg == pytest.approx(0 * state.air_c, abs=1e-15)


def vapour_came_kg(flows: Flows) -> np.ndarray:
    names = ("exchange_kg", "wheels_kg", "boards_kg", "wet_kg", "mist_kg", "plate_kg", "skin_kg")
    return sum(getattr(flows, name) for name in names)


def test_a_film_gives_no_more_than_it_has(world):
    state, drive, rooms = still(world)
    little = np.full((1, 4), 1e-9)
    state = replace(state, plate_film_kg=little, skin_film_kg=little, plate_c=state.plate_c + 20)
    after, flows = step(state, drive, rooms)
    assert flows.plate_kg[0, COLD] == pytest.approx(1e-9, rel=1e-3)
    assert flows.skin_kg[0, COLD] == pytest.approx(1e-9, rel=1e-3)
    assert (after.plate_film_kg >= 0).all()
    assert (after.skin_film_kg >= 0).all()
    assert after.vapour_kg_m3 == pytest.approx(state.vapour_kg_m3, rel=1e-3)
    held_kg = rooms.volume_m3 * (after.vapour_kg_m3 - state.vapour_kg_m3)
    assert held_kg == pytest.approx(vapour_came_kg(flows), abs=1e-15)


@pytest.mark.parametrize(("film", "cold"), [("skin", "plate"), ("plate", "skin")])
def test_a_film_gives_no_more_than_it_has_when_the_air_dries_meanwhile(world, film, cold):
    """The air's new vapour is lower than the one by which the film's share was set: what the film has still binds."""
    state, drive, rooms = still(world)
    little = {f"{film}_film_kg": np.full((1, 4), 1e-6), f"{cold}_c": state.air_c - 25}
    after, flows = step(replace(state, **little), drive, rooms)
    assert getattr(flows, f"{film}_kg")[0, COLD] == 1e-6
    assert getattr(after, f"{film}_film_kg")[0, COLD] == 0


def test_fog_settles_on_the_walls_and_is_not_lost(world):
    state, drive, rooms = still(world)
    state = replace(state, vapour_kg_m3=1.6 * state.vapour_kg_m3)
    drive = replace(drive, around_kg_m3=4 * drive.around_kg_m3, exchange_m3_s=drive.exchange_m3_s + 0.05)
    after, flows = step(state, drive, rooms)
    assert after.vapour_kg_m3 == pytest.approx(saturated_kg_m3(state.air_c), rel=1e-9)
    held_kg = rooms.volume_m3 * (after.vapour_kg_m3 - state.vapour_kg_m3)
    assert held_kg == pytest.approx(vapour_came_kg(flows), abs=1e-12)
    assert after.skin_film_kg + flows.skin_drip_kg == pytest.approx(-flows.skin_kg)
    assert (flows.skin_kg < -1e-5).all()


def test_mass_exchange_follows_the_lewis_relation():
    # Reference values, 7.1, computed with CoolProp: h 4 W/(m2 K) gives k 2.698e-8 kg/(m2 s Pa) at 12 degC.
    k = LEWIS_M3_J * 4.0 / (461.523 * 285.15)
    assert k == pytest.approx(2.698e-8, rel=2e-3)
    assert pytest.approx(1.2379 * 1006, rel=1e-3) == AIR_J_M3_K


def test_a_cooler_without_power_leaves_the_fridge_to_the_make_room(world):
    _, states, _ = ran(world, cooler_share=0.0)
    assert states[-1].air_c[0, COLD] > 12
    assert not states[-1].cooling.any()


def test_a_weak_cooler_runs_longer_and_swings_less(world):
    def duty_and_swing(share: float) -> tuple[float, float]:
        _, states, _ = ran(world, cooler_share=share)
        day = states[-1000:]
        air_c = np.array([state.air_c[0, COLD] for state in day])
        swing_k = np.subtract(*np.percentile(air_c, [95, 5]))
        return float(np.mean([state.cooling[0, COLD] for state in day])), float(swing_k)

    (well, wide), (ill, narrow) = duty_and_swing(1.0), duty_and_swing(0.35)
    assert ill > 2 * well
    assert narrow < 0.85 * wide


def test_a_humidifier_that_nobody_fills_runs_dry_and_fades_before_it_does(world):
    rooms = Columns.of(world.scenario.rooms)
    drive = replace(drives(world, [DAY]), filled=np.zeros((3 * 1440, 1, 4), dtype=bool))
    state = replace(start(world, [DAY]), tank_kg=0.25 * rooms.tank_kg[None, :])
    tank_kg, mist_kg = [], []
    for now in range(3 * 1440):
        state, flow = step(state, drive.at(now), rooms)
        tank_kg.append(state.tank_kg[0, WASHED])
        mist_kg.append(flow.mist_kg[0, WASHED])
    assert (np.diff(tank_kg) <= 0).all()
    assert np.mean(mist_kg[300:600]) > 2 * np.mean(mist_kg[1700:2000]) > 0
    assert tank_kg[-1] < 0.05 * rooms.tank_kg[WASHED]
    assert sum(mist_kg) == pytest.approx(0.25 * rooms.tank_kg[WASHED] - tank_kg[-1])


def test_a_wet_floor_makes_the_cellar_damp(world):
    dry, wet = (ran(world, seep_m3_s=seep)[1][-1] for seep in (0.0, 0.05))
    humidity = [humidity_pct(s.vapour_kg_m3, s.air_c)[0, CELLAR] for s in (dry, wet)]
    assert humidity[0] + 4 < humidity[1] < 100


def test_the_plate_takes_water_out_while_it_is_cold(run):
    _, states, flows = run
    cold = [f.plate_kg[0, COLD] for s, f in zip(states[1:], flows, strict=True) if s.plate_c[0, COLD] < -3]
    assert max(cold) < 0
    assert total(flows, "plate_drip_kg")[COLD] > 0.01


def test_muggy_air_over_a_cold_vault_leaves_dew_on_it(world):
    _, states, flows = ran(world, around_c=24.0, around_kg_m3=0.018, exchange_m3_s=5e-3, humidifier_share=0.0)
    assert states[-1].skin_film_kg[0, CELLAR] > 0.01
    assert humidity_pct(states[-1].vapour_kg_m3, states[-1].air_c)[0, CELLAR] > 97
    assert total(flows, "skin_kg")[CELLAR] < 0
