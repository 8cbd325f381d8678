"""What the demo's dairy is meant to show: plausible caves, incidents that can be seen, and losses as in the trade."""

import numpy as np
import pytest

from collector.demo.air_run import run
from collector.demo.probes import LEAD_IN
from collector.demo.quillfold import QUILLFOLD
from collector.demo.scenario import World, wheels_in
from collector.demo.simulation import Simulation
from collector.demo.vapour import humidity_pct
from collector.demo.weather import DAY_MS, HOUR_MS
from collector.demo.weights import mass_g, sums_of_day
from collector.moist_air import dew_point_c


def hourly(simulation: Simulation, place: str, days_back: float, hours: int) -> tuple[np.ndarray, np.ndarray]:
    start_ms = simulation.world.anchor_ms // DAY_MS * DAY_MS - round(days_back * DAY_MS)
    air = simulation.true_air(place, start_ms, start_ms + hours * HOUR_MS)
    return air.temperature_c.reshape(-1, 60).mean(axis=1), air.humidity_pct.reshape(-1, 60).mean(axis=1)


def test_places_and_rooms_and_probes_name_each_other():
    places = {place.name for place in QUILLFOLD.places}
    assert {room.name for room in QUILLFOLD.rooms} | {QUILLFOLD.counter, QUILLFOLD.outside} == places
    assert {probe.place for probe in QUILLFOLD.probes} < places
    assert QUILLFOLD.counter not in {probe.place for probe in QUILLFOLD.probes}
    assert {name for name, _ in QUILLFOLD.visits} == {room.name for room in QUILLFOLD.rooms}
    stuck = {plan.probe for plan in QUILLFOLD.incidents if plan.probe}
    assert all(QUILLFOLD.probe(name) for name in stuck)
    with pytest.raises(ValueError, match="Quillfold has no probe attic, only cellar-front, "):
        QUILLFOLD.probe("attic")


@pytest.mark.parametrize("season", range(4))
@pytest.mark.parametrize("column", range(4))
def test_a_calm_week_keeps_most_hours_within_the_bands(calm_seasons, season, column):
    place = next(place for place in QUILLFOLD.places if place.name == QUILLFOLD.rooms[column].name)
    minutes_c = np.concatenate([day.temperature_c[LEAD_IN:, column] for day in calm_seasons[season]])
    minutes_kg_m3 = np.concatenate([day.vapour_kg_m3[LEAD_IN:, column] for day in calm_seasons[season]])
    temperature_c = minutes_c.reshape(-1, 60).mean(axis=1)
    humidity = humidity_pct(minutes_kg_m3, minutes_c).reshape(-1, 60).mean(axis=1)
    warm = (temperature_c >= place.temperature_c.low) & (temperature_c <= place.temperature_c.high)
    damp = (humidity >= place.humidity_pct.low) & (humidity <= place.humidity_pct.high)
    assert warm.mean() > 0.97, place.name
    assert damp.mean() > 0.6, place.name
    assert place.humidity_pct.low - 3 < humidity.mean() < place.humidity_pct.high + 3


def test_the_cellar_follows_the_season(calm_world):
    means = []
    # February and September 2025.
    for days in (275, 60):
        temperature_c, _ = hourly(Simulation(calm_world), "cellar", days, 48)
        means.append(temperature_c.mean())
    assert 8.5 < means[0] < 10.5
    assert 12.3 < means[1] < 14.5


def test_the_cellars_ceiling_comes_near_the_dew_point_in_a_muggy_week_and_not_in_a_dry_one(calm_world):
    calm = Simulation(calm_world)

    def margin_k(days_back: int) -> float:
        start_ms = (calm_world.anchor_ms // DAY_MS - days_back) * DAY_MS
        air = calm.true_air("cellar", start_ms, start_ms + 14 * DAY_MS)
        return float(np.min(air.surface_c[::10] - dew_point_c(air.temperature_c[::10], air.humidity_pct[::10])))

    assert margin_k(120) < 0.4
    assert margin_k(10) > 0.6


def test_an_empty_humidifier_shows_today_and_is_still_going_down(simulation, calm):
    _, ill = hourly(simulation, "washed fridge", 2, 48)
    _, well = hourly(calm, "washed fridge", 2, 48)
    assert np.abs(ill[:24] - well[:24]).max() < 2.5
    assert ill[-6:].mean() < well[-6:].mean() - 4
    band = next(p for p in QUILLFOLD.places if p.name == "washed fridge").humidity_pct
    assert ill[-3:].mean() < band.low


def test_two_dry_days_lower_the_cellar_and_are_over(simulation, calm):
    _, ill = hourly(simulation, "cellar", 11, 5 * 24)
    _, well = hourly(calm, "cellar", 11, 5 * 24)
    assert (ill[48:72] < well[48:72] - 3).all()
    assert np.abs(ill[:24] - well[:24]).max() < 0.01
    assert np.abs(ill[-24:] - well[-24:]).max() < 1


def test_a_door_ajar_overnight_warms_the_fridge(simulation, calm):
    ill_c, _ = hourly(simulation, "washed fridge", 4, 48)
    well_c, _ = hourly(calm, "washed fridge", 4, 48)
    assert ill_c[21:30].mean() > well_c[21:30].mean() + 0.3
    assert ill_c.max() > well_c.max() + 0.7
    assert np.abs(ill_c[40:] - well_c[40:]).max() < 0.3


def test_a_power_cut_warms_both_fridges_and_they_come_back(simulation, calm):
    for place in ("washed fridge", "cold fridge"):
        ill_c, _ = hourly(simulation, place, 6, 24)
        well_c, _ = hourly(calm, place, 6, 24)
        assert ill_c[5] > well_c[5] + 1.5
        assert np.abs(ill_c[14:] - well_c[14:]).max() < 0.35


def test_a_dying_cooler_is_seen_in_its_cycles_before_it_is_seen_in_the_air(world, calm_world):
    days = [world.anchor_ms // DAY_MS - back for back in (66, 52, 46)]
    # From an hour after midnight, when the rest of the plate is forgotten.
    night = slice(LEAD_IN + 60, LEAD_IN + 360)
    ill, well = ([day.temperature_c[night, 2] for day in run(w, days)] for w in (world, calm_world))
    at_first, after_a_fortnight = (np.ptp(ill[n]) / np.ptp(well[n]) for n in (0, 1))
    assert at_first == pytest.approx(1, abs=0.02)
    assert after_a_fortnight < 0.85
    assert abs(ill[1].mean() - well[1].mean()) < 0.7
    assert ill[2].mean() > well[2].mean() + 2


def test_a_damp_fortnight_is_damp_and_ends(simulation, calm):
    _, ill = hourly(simulation, "cellar", 262, 20 * 24)
    _, well = hourly(calm, "cellar", 262, 20 * 24)
    assert ill[48 : 14 * 24].mean() > well[48 : 14 * 24].mean() + 4
    assert ill[48 : 14 * 24].min() > 93
    assert np.abs(ill[-48:] - well[-48:]).max() < 1.5


# Style: between which ages [d], and how much of a wheel's mass is lost by then [%]: common practice, no source.
LOSSES = {
    "natural-rind tomme": (85, 95, 8.0, 15.0),
    "washed rind": (35, 56, 5.0, 10.0),
    "bloomy": (14, 21, 5.0, 12.0),
    "cloth-bound cheddar": (330, 400, 8.0, 15.0),
    "alpine": (180, 370, 5.0, 10.0),
}


EVERY_D = 8


@pytest.fixture(scope="module")
def roughly_g(calm_world):
    """The mass of a wheel when every eighth day stands for the eight from it on: near enough, and much quicker."""
    first = min(wheel.made_ms for wheel in wheels_in(calm_world)) // DAY_MS
    days = range(first, calm_world.anchor_ms // DAY_MS + 1, EVERY_D)
    sums = [sums_of_day(day) for day in run(calm_world, list(days))]
    columns = [room.name for room in QUILLFOLD.rooms] + [QUILLFOLD.counter]
    return lambda wheel, at_ms: mass_g(wheel, at_ms, lambda day: sums[(day - first) // EVERY_D], columns.index)


@pytest.fixture(scope="module")
def losses(calm_world, roughly_g):
    """Percent lost since out of the press at an age at which the trade has a figure, by style."""
    now_ms = calm_world.anchor_ms
    found: dict[str, list[float]] = {style: [] for style in LOSSES}
    for wheel in wheels_in(calm_world):
        if wheel.style.name not in LOSSES or "breathable bag" in {c.covering for c in wheel.coverings}:
            continue
        youngest_d, oldest_d, _, _ = LOSSES[wheel.style.name]
        age_d = min((min(wheel.gone_ms or now_ms, now_ms) - 1 - wheel.made_ms) // DAY_MS, oldest_d)
        if age_d >= youngest_d:
            mass = roughly_g(wheel, wheel.made_ms + DAY_MS * np.array([0, age_d]))
            found[wheel.style.name].append(float(100 * (1 - mass[1] / mass[0])))
    return found


@pytest.mark.parametrize("style", sorted(LOSSES))
def test_wheels_lose_what_the_trade_says_they_lose(losses, style):
    _, _, least, most = LOSSES[style]
    assert least < np.mean(losses[style]) < most
    # A single wheel may be a quarter off its kind.
    assert 0.75 * least < min(losses[style]) <= max(losses[style]) < 1.25 * most


def test_a_bagged_wheel_loses_next_to_nothing(calm_world, roughly_g):
    wheel = next(w for w in wheels_in(calm_world) if w.style.name == "bagged")
    bagged_ms, now_ms = wheel.coverings[1].from_ms, calm_world.anchor_ms
    mass = roughly_g(wheel, np.array([bagged_ms, now_ms]))
    # Common practice, no source: 0 to 1.5 % a year.
    assert 0.1 < 100 * (1 - mass[1] / mass[0]) * 365 * DAY_MS / (now_ms - bagged_ms) < 1.5


def test_a_world_with_another_first_start_has_the_same_weather_and_other_incidents(world):
    later = World(QUILLFOLD, world.seed, world.anchor_ms + 100 * DAY_MS)
    now_ms = world.anchor_ms
    one, other = (Simulation(w).true_air("outside", now_ms, now_ms + HOUR_MS) for w in (world, later))
    assert (one.temperature_c == other.temperature_c).all()
    assert wheels_in(world)[0].made_ms + 100 * DAY_MS == wheels_in(later)[0].made_ms
