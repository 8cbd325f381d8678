from functools import lru_cache

import numpy as np
import pytest

from collector.rules.trust.creeping import CREEPING, daily_medians
from tests.collector.rules.trust.caves import (
    BEGIN_MS,
    CELLAR,
    DAY_MS,
    FRIDGE,
    CaveKind,
    Channel,
    air,
    judged,
    place,
    wander,
)
from tests.collector.rules.trust.caves import probe as honest_probe

DAYS = 56
FROM_MS = BEGIN_MS + 21 * DAY_MS


@lru_cache
def honest(kind: CaveKind, quantity: str, seed: int) -> Channel:
    return honest_probe(air(kind, DAYS, 5), quantity, seed, interval_min=10, offset=seed % 3 - 1)


def creeping(channel: Channel, a_week: float) -> Channel:
    weeks = np.clip(channel.taken_ms - FROM_MS, 0, None) / (7 * DAY_MS)
    return channel.with_values(channel.value + a_week * weeks)


@pytest.mark.parametrize(("quantity", "a_week"), [("humidity", 1.0), ("humidity", -1.0), ("temperature", 0.3)])
@pytest.mark.parametrize("kind", [FRIDGE, CELLAR], ids=["fridge", "cellar"])
def test_a_point_a_week_is_found_within_four_weeks(kind: CaveKind, quantity: str, a_week: float) -> None:
    placed = place({"own": creeping(honest(kind, quantity, 1), a_week), "b": honest(kind, quantity, 2)}, DAYS)
    [verdict] = judged(CREEPING, placed["own"], DAYS)
    assert FROM_MS < verdict.opened_ms <= FROM_MS + 28 * DAY_MS
    assert verdict.facts["moved"] == pytest.approx(4 * a_week, rel=0.2)
    assert verdict.facts["moved_low"] <= verdict.facts["moved"] <= verdict.facts["moved_high"]
    assert verdict.facts["alone"] is False


def test_of_three_only_the_creeping_one_is_named() -> None:
    channels = {"a": honest(CELLAR, "humidity", 1), "b": honest(CELLAR, "humidity", 2)}
    placed = place(channels | {"c": creeping(honest(CELLAR, "humidity", 3), 1.0)}, DAYS)
    found = {name: judged(CREEPING, channel, DAYS) for name, channel in placed.items()}
    assert found["a"] == found["b"] == []
    assert [v.facts["alone"] for v in found["c"]] == [True]


@pytest.mark.parametrize("quantity", ["temperature", "humidity"])
@pytest.mark.parametrize("kind", [FRIDGE, CELLAR], ids=["fridge", "cellar"])
def test_probes_that_stay_true_do_not_creep(kind: CaveKind, quantity: str) -> None:
    placed = place({"own": honest(kind, quantity, 1), "b": honest(kind, quantity, 2)}, DAYS)
    assert judged(CREEPING, placed["own"], DAYS) == []


def test_the_one_in_the_middle_does_not_creep() -> None:
    up, down = creeping(honest(CELLAR, "humidity", 1), 1.0), creeping(honest(CELLAR, "humidity", 2), -1.0)
    placed = place({"own": honest(CELLAR, "humidity", 3), "up": up, "down": down}, DAYS)
    assert judged(CREEPING, placed["own"], DAYS) == []


def test_shelves_that_wander_apart_and_back_do_not_creep() -> None:
    for seed in range(6):
        own = honest(CELLAR, "humidity", 1)
        apart = wander(np.random.default_rng(seed), DAYS * 1440, 100)[::10]
        placed = place({"own": own.with_values(own.value + 0.6 * apart), "b": honest(CELLAR, "humidity", 2)}, DAYS)
        assert judged(CREEPING, placed["own"], DAYS) == []


def test_a_step_once_is_no_creeping_of_weeks() -> None:
    own = honest(CELLAR, "humidity", 1)
    moved = own.with_values(own.value + 1.2 * (own.taken_ms >= FROM_MS))
    assert judged(CREEPING, place({"own": moved, "b": honest(CELLAR, "humidity", 2)}, DAYS)["own"], DAYS) == []


def test_without_a_neighbour_nothing_is_said() -> None:
    assert judged(CREEPING, creeping(honest(CELLAR, "humidity", 1), 1.0), DAYS) == []


def test_a_day_hardly_known_has_no_median() -> None:
    course = np.concatenate([np.full(144, 2.0), np.full(144, np.nan)])
    course[144:160] = 9.0
    np.testing.assert_array_equal(daily_medians(course), [2.0, np.nan])
