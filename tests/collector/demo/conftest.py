"""Quillfold at a fixed first start, computed once for all tests that only look at it."""

from dataclasses import replace

import pytest

from collector.demo.air_run import DayAir, run
from collector.demo.quillfold import QUILLFOLD
from collector.demo.scenario import World
from collector.demo.simulation import Simulation
from collector.demo.weather import DAY_MS

# A Thursday in November 2025 at 10:13 UTC, as good as any.
ANCHOR_MS = 1_763_028_800_000
SEED = 7


@pytest.fixture(scope="session")
def world() -> World:
    return World(QUILLFOLD, SEED, ANCHOR_MS)


@pytest.fixture(scope="session")
def calm_world() -> World:
    """The same dairy in the same weather, in which nothing ever goes wrong."""
    return World(replace(QUILLFOLD, incidents=()), SEED, ANCHOR_MS)


def looked_at(world: World) -> Simulation:
    """A simulation that has its last fortnight by heart: one batch instead of many."""
    simulation = Simulation(world)
    simulation.true_air("cellar", world.anchor_ms - 15 * DAY_MS, world.anchor_ms + DAY_MS)
    return simulation


@pytest.fixture(scope="session")
def simulation(world: World) -> Simulation:
    return looked_at(world)


@pytest.fixture(scope="session")
def calm(calm_world: World) -> Simulation:
    return looked_at(calm_world)


@pytest.fixture(scope="session")
def calm_seasons(calm_world: World) -> dict[int, list[DayAir]]:
    """Seven days on end in each season, by the number of the season."""
    first = calm_world.anchor_ms // DAY_MS - 300
    starts = [first + 91 * season for season in range(4)]
    days = run(calm_world, [start + day for start in starts for day in range(7)])
    return {season: days[7 * season : 7 * season + 7] for season in range(4)}
