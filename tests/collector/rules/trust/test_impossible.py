from functools import lru_cache

import numpy as np
import pytest

from collector.rules.trust.impossible import IMPOSSIBLE
from tests.collector.rules.trust.caves import BEGIN_MS, DAY_MS, FRIDGE, HOUR_MS, Channel, air, judged, probe

DAYS = 3
FROM_MS = BEGIN_MS + DAY_MS


@lru_cache
def honest(quantity: str, interval_min: float) -> Channel:
    return probe(air(FRIDGE, DAYS, 5), quantity, 6, interval_min=interval_min)


def with_fault(channel: Channel, number: float, every: int, hours: float) -> Channel:
    value = channel.value.copy()
    span = np.flatnonzero((channel.taken_ms >= FROM_MS) & (channel.taken_ms < FROM_MS + hours * HOUR_MS))
    value[span[::every]] = number
    return channel.with_values(value)


@pytest.mark.parametrize("interval_min", [1, 10, 30])
@pytest.mark.parametrize(
    ("number", "kind"), [(-127.0, "no_sensor"), (85.0, "power_on"), (-45.0, "no_sensor"), (200.0, "above")]
)
def test_a_broken_thermometer_is_found(number: float, kind: str, interval_min: float) -> None:
    found = judged(IMPOSSIBLE, with_fault(honest("temperature", interval_min), number, 1, 6), DAYS)
    assert [(v.facts["kind"], v.facts["value"]) for v in found] == [(kind, number)]
    assert found[0].opened_ms - FROM_MS <= (0 if interval_min == 1 else 60 * 60_000)
    assert found[0].cleared_ms is not None
    assert found[0].cleared_ms <= FROM_MS + 10 * HOUR_MS


@pytest.mark.parametrize("interval_min", [1, 10, 30])
def test_one_power_on_value_is_not_spoken_of(interval_min: float) -> None:
    assert judged(IMPOSSIBLE, with_fault(honest("temperature", interval_min), 85.0, 10_000, 6), DAYS) == []


def test_a_bit_falling_over_now_and_then_is_not_spoken_of() -> None:
    assert judged(IMPOSSIBLE, with_fault(honest("temperature", 1), -127.0, 30, 40), DAYS) == []


def test_a_share_of_bad_numbers_is_found() -> None:
    [verdict] = judged(IMPOSSIBLE, with_fault(honest("humidity", 1), 255.0, 5, 12), DAYS)
    assert verdict.facts["largest_share"] == pytest.approx(0.2, abs=0.02)
    assert (verdict.facts["kind"], verdict.facts["lowest"], verdict.facts["highest"]) == ("above", 0.0, 103.0)


def test_honest_probes_send_nothing_impossible() -> None:
    assert judged(IMPOSSIBLE, honest("temperature", 1), DAYS) == []
    assert judged(IMPOSSIBLE, honest("humidity", 1), DAYS) == []
