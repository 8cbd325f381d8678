from functools import lru_cache

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from collector.air.model import STEP_MS
from collector.rules.trust import CHANNEL_RULES
from tests.collector.rules.trust.caves import (
    BEGIN_MS,
    CELLAR,
    DAY_MS,
    FRIDGE,
    HOUR_MS,
    Channel,
    air,
    judged,
    judged_in_pieces,
    place,
    probe,
)

DAYS = 40


@lru_cache
def ailing_probe() -> Channel:
    """A humidity probe with everything wrong at some time: hangs, leaps, nonsense, off, creeping, wet, away."""
    rng = np.random.default_rng(7)
    course = air(CELLAR, DAYS, 1)
    others = {name: probe(course, "humidity", i, interval_min=5, offset=i - 1) for i, name in enumerate("ab")}
    own = probe(course, "humidity", 9, interval_min=5)
    v, day = own.value.copy(), (own.taken_ms - BEGIN_MS) / DAY_MS
    v = v + np.clip(day, 0, 34) * 0.12
    v[(day > 3) & (day < 4.5)] += 25
    v[(day > 6) & (day < 7.2)] = v[np.argmax(day > 6)]
    wild = (day > 9) & (day < 10) & (rng.random(len(v)) < 0.15)
    v[wild] -= 45
    v[(day > 12) & (day < 12.4)] = 255.0
    v[(day > 14) & (day < 17)] = 100.0
    v[(day > 20) & (day < 26)] -= 22
    own = own.with_values(v).without(BEGIN_MS + 24 * DAY_MS, BEGIN_MS + 27 * DAY_MS)
    own = own.without(BEGIN_MS + int(6.5 * DAY_MS), BEGIN_MS + int(6.7 * DAY_MS))
    return place({"own": own} | others, DAYS)["own"]


@lru_cache
def dying_battery() -> Channel:
    taken = BEGIN_MS + np.arange(0, DAYS * DAY_MS, HOUR_MS, dtype=np.int64)
    day = np.arange(len(taken)) / 24
    level = np.where(day < 25, 45 - 1.3 * day, 100 - 0.1 * day) + np.random.default_rng(2).normal(0, 0.5, len(taken))
    return Channel("battery", taken, np.round(level)).without(BEGIN_MS + 12 * DAY_MS, BEGIN_MS + 15 * DAY_MS)


@lru_cache
def creeping_probe() -> Channel:
    course = air(CELLAR, DAYS, 4)
    own = probe(course, "humidity", 5, interval_min=10)
    day = (own.taken_ms - BEGIN_MS) / DAY_MS
    own = own.with_values(own.value + 0.15 * np.clip(day - 2, 0, 29))
    own = own.without(BEGIN_MS + 11 * DAY_MS, BEGIN_MS + 14 * DAY_MS)
    return place({"own": own, "other": probe(course, "humidity", 6, interval_min=10)}, DAYS)["own"]


@lru_cache
def disputed_probe() -> Channel:
    other = probe(air(FRIDGE, DAYS, 3), "humidity", 5, interval_min=5)
    return place({"own": ailing_probe(), "other": other}, DAYS)["own"]


CHANNELS = {"battery_low": dying_battery, "creeping": creeping_probe, "apart": disputed_probe}


def channel_for(name: str) -> Channel:
    return CHANNELS.get(name, ailing_probe)()


@pytest.mark.parametrize("rule", CHANNEL_RULES, ids=lambda rule: rule.name)
@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(cuts=st.lists(st.integers(1, DAYS * 144 - 1), min_size=1, max_size=5, unique=True))
def test_judging_in_pieces_ends_as_judging_at_once(rule, cuts: list[int]) -> None:
    channel = channel_for(rule.name)
    at_once = judged(rule, channel, DAYS)
    assert at_once, "the planted fault must be found, or nothing is compared"
    assert judged_in_pieces(rule, channel, DAYS, [BEGIN_MS + c * STEP_MS for c in cuts]) == at_once


@pytest.mark.parametrize("rule", CHANNEL_RULES, ids=lambda rule: rule.name)
def test_judging_hour_by_hour_ends_as_judging_at_once(rule) -> None:
    channel = channel_for(rule.name)
    hours = [BEGIN_MS + h * HOUR_MS for h in range(1, DAYS * 24)]
    assert judged_in_pieces(rule, channel, DAYS, hours) == judged(rule, channel, DAYS)


@pytest.mark.parametrize("rule", CHANNEL_RULES, ids=lambda rule: rule.name)
def test_nothing_heard_opens_nothing(rule) -> None:
    empty = Channel("battery" if rule.name == "battery_low" else "humidity", np.empty(0, dtype=np.int64), np.empty(0))
    assert judged(rule, empty, 2) == []
