from functools import lru_cache

import numpy as np
import pytest

from collector.rules.trust.jumping import JUMPING
from tests.collector.rules.trust.caves import (
    BEGIN_MS,
    BOX,
    CELLAR,
    DAY_MS,
    FRIDGE,
    HOUR_MS,
    WILD_FRIDGE,
    CaveKind,
    Channel,
    air,
    judged,
    probe,
)

DAYS = 5
FROM_MS = BEGIN_MS + 3 * DAY_MS


@lru_cache
def honest(kind: CaveKind, quantity: str, interval_min: float, lag_min: float = 2.0) -> Channel:
    return probe(air(kind, DAYS, 8), quantity, 6, interval_min=interval_min, lag_min=lag_min)


def leaping(channel: Channel, height: float, share: float) -> Channel:
    rng = np.random.default_rng(3)
    hit = (channel.taken_ms >= FROM_MS) & (rng.random(len(channel.value)) < share)
    return channel.with_values(channel.value - height * hit)


@pytest.mark.parametrize(("quantity", "height"), [("temperature", 4.0), ("humidity", 15.0)])
@pytest.mark.parametrize("kind", [FRIDGE, CELLAR], ids=["fridge", "cellar"])
def test_single_wild_readings_are_found_within_hours(kind: CaveKind, quantity: str, height: float) -> None:
    [verdict] = judged(JUMPING, leaping(honest(kind, quantity, 1), height, 0.05), DAYS)
    assert FROM_MS <= verdict.opened_ms <= FROM_MS + 6 * HOUR_MS
    assert verdict.cleared_ms is None
    assert verdict.facts["largest_leap"] >= 0.8 * height
    assert verdict.facts["since_ms"] >= FROM_MS - HOUR_MS


def test_a_loose_plug_that_holds_a_wrong_level_for_minutes_is_found() -> None:
    channel = honest(CELLAR, "humidity", 1)
    blocks = np.random.default_rng(4).random(len(channel.value) // 12 + 1) < 0.3
    wrong = np.repeat(blocks, 12)[: len(channel.value)] & (channel.taken_ms >= FROM_MS)
    [verdict] = judged(JUMPING, channel.with_values(channel.value - 20 * wrong), DAYS)
    assert verdict.opened_ms <= FROM_MS + 6 * HOUR_MS


def test_a_probe_that_never_stops_leaping_stays_doubtful() -> None:
    channel = probe(air(CELLAR, 9, 8), "humidity", 6, interval_min=1)
    [verdict] = judged(JUMPING, leaping(channel, 20.0, 0.3), 9)
    assert verdict.cleared_ms is None


@pytest.mark.parametrize("interval_min", [0.5, 1, 2, 5, 10, 15])
@pytest.mark.parametrize("quantity", ["temperature", "humidity"])
@pytest.mark.parametrize("kind", [FRIDGE, WILD_FRIDGE, CELLAR, BOX], ids=["fridge", "wild", "cellar", "box"])
def test_cycles_and_doors_are_no_leaps(kind: CaveKind, quantity: str, interval_min: float) -> None:
    assert judged(JUMPING, honest(kind, quantity, interval_min), DAYS) == []


@pytest.mark.parametrize("kind", [WILD_FRIDGE, BOX], ids=["wild", "box"])
def test_a_bare_fast_sensor_by_the_door_does_not_leap(kind: CaveKind) -> None:
    assert judged(JUMPING, honest(kind, "humidity", 1, lag_min=0.1), DAYS) == []


def test_a_fogger_and_its_fan_are_no_leaps() -> None:
    channel = honest(CELLAR, "humidity", 1)
    minute = np.arange(len(channel.value)) % 90
    puff = np.interp(minute, [0, 1, 2, 4, 5, 6], [0, 9, 18, 18, 9, 0])
    assert judged(JUMPING, channel.with_values(channel.value - 25 + puff), DAYS) == []


def test_a_noisy_probe_is_coarse_and_not_jumping() -> None:
    noisy = probe(air(CELLAR, DAYS, 8), "humidity", 6, interval_min=1, noise=4.0)
    assert judged(JUMPING, noisy.with_values(noisy.value - 20), DAYS) == []


def test_numbers_that_no_air_can_have_are_not_told_twice() -> None:
    channel = honest(CELLAR, "temperature", 1)
    value = channel.value.copy()
    value[3_000::20] = -127.0
    assert judged(JUMPING, channel.with_values(value), DAYS) == []
