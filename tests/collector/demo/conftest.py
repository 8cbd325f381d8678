"""Quillfold at a fixed first start, computed once for all tests that only look at it."""

from dataclasses import replace

import pytest

from collector.demo.quillfold import QUILLFOLD
from collector.demo.scenario import World
from collector.demo.simulation import Simulation

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


@pytest.fixture(scope="session")
def simulation(world: World) -> Simulation:
    return Simulation(world)


@pytest.fixture(scope="session")
def calm(calm_world: World) -> Simulation:
    return Simulation(calm_world)
