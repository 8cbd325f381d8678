from functools import lru_cache

import numpy as np
import pytest

from collector.rules.trust.saturated import SATURATED
from tests.collector.rules.trust.caves import BEGIN_MS, CELLAR, DAY_MS, HOUR_MS, Channel, air, judged, probe

DAYS = 5
FROM_MS = BEGIN_MS + 2 * DAY_MS


@lru_cache
def honest() -> Channel:
    return probe(air(CELLAR, DAYS, 5), "humidity", 6, interval_min=5)


def at_the_top(top: float, hours: float) -> Channel:
    channel = honest()
    wet = (channel.taken_ms >= FROM_MS) & (channel.taken_ms < FROM_MS + hours * HOUR_MS)
    return channel.with_values(np.where(wet, top, channel.value))


# 98.7: a probe clipped at 100 that a check moved down by 1.3.
@pytest.mark.parametrize("top", [100.0, 99.4, 98.7, 101.5])
def test_two_days_at_the_top_are_noted_after_one(top: float) -> None:
    [verdict] = judged(SATURATED, at_the_top(top, 48), DAYS)
    assert verdict.opened_ms - FROM_MS == pytest.approx(DAY_MS, abs=HOUR_MS)
    assert verdict.facts["since_ms"] - FROM_MS == pytest.approx(0, abs=HOUR_MS)
    assert verdict.facts["value"] == top
    assert verdict.cleared_ms is not None
    assert verdict.cleared_ms - FROM_MS == pytest.approx(2 * DAY_MS, abs=HOUR_MS)


def test_a_washing_down_is_not_noted() -> None:
    assert judged(SATURATED, at_the_top(100.0, 8), DAYS) == []


def test_a_damp_cave_that_moves_is_not_noted() -> None:
    damp = honest().with_values((honest().value + 8).clip(max=98.6))
    moving = damp.with_values(damp.value - np.arange(len(damp.value)) % 3 * 0.1)
    assert judged(SATURATED, moving, DAYS) == []


def test_it_is_a_note_and_takes_nothing_out_of_the_air() -> None:
    assert SATURATED.severity == "note"
    assert not SATURATED.doubts
