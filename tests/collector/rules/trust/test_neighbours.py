"""What a channel and its neighbours are good for on the day that is compared."""

from dataclasses import replace

import numpy as np

from collector.rules.model import ChannelSituation
from collector.rules.trust.disagrees import DISAGREES
from collector.rules.trust.neighbours import DAY_STEPS, UNKNOWN_UNCERTAINTY, uncertainty_of
from tests.collector.rules.trust.caves import BEGIN_MS, DAY_MS, FRIDGE, air, place, prepared, probe

DAYS = 3


def situation() -> ChannelSituation:
    own = place(
        {"a": probe(air(FRIDGE, DAYS, 5), "humidity", 1), "b": probe(air(FRIDGE, DAYS, 5), "humidity", 2)}, DAYS
    )
    return prepared(own["a"], DAYS).situation(DISAGREES, BEGIN_MS + 2 * DAY_MS, BEGIN_MS + 3 * DAY_MS)


def test_step_by_step_it_is_the_middle_of_the_day_compared() -> None:
    told = situation()
    steps = np.full(len(told.grid_ms), 0.8)
    steps[-DAY_STEPS:] = 3.0
    steps[-3:] = np.nan
    day = slice(len(steps) - DAY_STEPS, len(steps))
    grown = replace(told, uncertainty=steps, neighbour_uncertainty={"b": steps / 2})
    assert uncertainty_of(grown, None, day) == 3.0
    assert uncertainty_of(grown, "b", day) == 1.5


def test_where_nothing_is_said_the_default_stands() -> None:
    told = replace(situation(), uncertainty=np.full(1, np.nan), neighbour_uncertainty={})
    assert uncertainty_of(told, None, slice(0, 1)) == UNKNOWN_UNCERTAINTY["humidity"]
    assert uncertainty_of(told, "b", slice(0, 1)) == UNKNOWN_UNCERTAINTY["humidity"]
