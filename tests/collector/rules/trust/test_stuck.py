from dataclasses import replace
from functools import lru_cache

import numpy as np
import pytest

from collector.readings.model import Mark
from collector.rules.trust.stuck import STUCK
from tests.collector.rules.trust.caves import (
    BEGIN_MS,
    BOX,
    CELLAR,
    DAY_MS,
    DEEP_CELLAR,
    FRIDGE,
    HOUR_MS,
    CaveKind,
    Channel,
    air,
    judged,
    judged_in_pieces,
    place,
    probe,
)

DAYS = 10
HANGS_FROM_MS = BEGIN_MS + 7 * DAY_MS


@lru_cache
def cave(kind: CaveKind):
    return air(kind, DAYS, 11)


def hanging(channel: Channel, from_ms: int = HANGS_FROM_MS) -> Channel:
    value = channel.value.copy()
    late = channel.taken_ms >= from_ms
    value[late] = value[~late][-1] if (~late).any() else value[0]
    return channel.with_values(value)


@pytest.mark.parametrize("quantity", ["temperature", "humidity"])
@pytest.mark.parametrize("kind", [FRIDGE, CELLAR], ids=["fridge", "cellar"])
def test_a_fine_probe_that_hangs_is_found_within_hours(kind: CaveKind, quantity: str) -> None:
    channel = hanging(probe(cave(kind), quantity, 2))
    [verdict] = judged(STUCK, channel, DAYS)
    assert HANGS_FROM_MS < verdict.opened_ms <= HANGS_FROM_MS + 12 * HOUR_MS
    assert verdict.cleared_ms is None
    assert abs(verdict.facts["since_ms"] - HANGS_FROM_MS) <= 600_000
    assert verdict.facts["value"] == pytest.approx(channel.value[-1], abs=1e-6)


def test_it_ends_when_the_number_moves_again() -> None:
    channel = probe(cave(FRIDGE), "humidity", 2)
    until = HANGS_FROM_MS + DAY_MS
    value = np.where(channel.taken_ms < until, hanging(channel).value, channel.value)
    [verdict] = judged(STUCK, channel.with_values(value), DAYS)
    assert verdict.cleared_ms is not None
    assert abs(verdict.cleared_ms - until) <= 600_000


# Half a kelvin is a DS18B20 at 9 bit (data sheet), one point a plain humidity display.
@pytest.mark.parametrize(("quantity", "resolution"), [("temperature", 0.5), ("temperature", 0.1), ("humidity", 1.0)])
@pytest.mark.parametrize("kind", [DEEP_CELLAR, CELLAR, BOX, FRIDGE], ids=["deep", "cellar", "box", "fridge"])
def test_a_coarse_probe_in_still_air_is_not_stuck(kind: CaveKind, quantity: str, resolution: float) -> None:
    coarse = probe(cave(kind), quantity, 3, interval_min=5, resolution=resolution)
    other = probe(cave(kind), quantity, 4, interval_min=5, resolution=resolution)
    assert judged(STUCK, coarse, DAYS) == []
    assert judged(STUCK, place({"own": coarse, "other": other}, DAYS)["own"], DAYS) == []


def test_a_coarse_probe_is_not_stuck_when_its_neighbour_stands_still_too() -> None:
    """A week of work and doors, then nobody comes and the cellar stands."""
    course = cave(CELLAR)
    still = course.temperature.copy()
    still[5 * 1440 :] = 11.52
    quiet = replace(course, temperature=still)
    own = probe(quiet, "temperature", 3, interval_min=5, resolution=0.1, noise=0.005)
    other = probe(quiet, "temperature", 4, interval_min=5, resolution=0.1, noise=0.005)
    assert len(judged(STUCK, own, DAYS)) == 1
    assert judged(STUCK, place({"own": own, "other": other}, DAYS)["own"], DAYS) == []


def test_only_what_the_neighbour_did_within_the_window_counts() -> None:
    """A neighbour that follows the season by 0.05 K a day, beside a coarse probe that has not moved for a month."""
    taken = BEGIN_MS + np.arange(0, 30 * DAY_MS, HOUR_MS // 4, dtype=np.int64)
    own = Channel("temperature", taken, np.full(len(taken), 11.5))
    season = Channel("temperature", taken, 11.3 + 0.05 * (taken - BEGIN_MS) / DAY_MS)
    assert judged(STUCK, place({"own": own, "other": season}, 30)["own"], 30) == []


def twice_hanging() -> Channel:
    """A probe that hung from day 3 to 7, and again from day 16 on."""
    own = probe(air(CELLAR, 40, 11), "humidity", 2, interval_min=10)
    day = (own.taken_ms - BEGIN_MS) / DAY_MS
    value = np.where((day >= 3) & (day < 7), 88.0, own.value)
    return own.with_values(np.where((day >= 16) & (day < 34), 91.0, value))


def test_one_earlier_hanging_is_not_usual() -> None:
    first, second = judged(STUCK, twice_hanging(), 40)
    assert (first.opened_ms - BEGIN_MS) / DAY_MS < 3.5
    assert (second.opened_ms - BEGIN_MS) / DAY_MS < 16.5
    assert second.cleared_ms is not None
    assert (second.cleared_ms - BEGIN_MS) / DAY_MS == pytest.approx(34, abs=0.1)


@pytest.mark.parametrize("cut_day", [3.2, 10.5, 20.7, 25.0, 33.9])
def test_cutting_a_hanging_longer_than_the_window_changes_nothing(cut_day: float) -> None:
    cuts = [BEGIN_MS + int(cut_day * 144) * 600_000]
    assert judged_in_pieces(STUCK, twice_hanging(), 40, cuts) == judged(STUCK, twice_hanging(), 40)


def test_a_coarse_probe_is_stuck_when_its_neighbour_moved() -> None:
    coarse = hanging(probe(cave(FRIDGE), "temperature", 3, interval_min=5, resolution=0.5))
    other = probe(cave(FRIDGE), "temperature", 4, interval_min=5, resolution=0.5)
    found = judged(STUCK, place({"own": coarse, "other": other}, DAYS)["own"], DAYS)
    assert [v.opened_ms - HANGS_FROM_MS <= DAY_MS for v in found] == [True]


def test_a_humidity_at_the_top_of_its_range_is_not_stuck() -> None:
    channel = probe(cave(CELLAR), "humidity", 2)
    for top in (100.0, 98.7):
        wet = channel.with_values(np.where(channel.taken_ms >= HANGS_FROM_MS, top, channel.value.clip(max=97)))
        assert judged(STUCK, wet, DAYS) == []


def test_a_door_that_stays_shut_is_not_stuck() -> None:
    channel = probe(cave(CELLAR), "humidity", 2)
    shut = replace(channel, quantity="door", value=np.zeros(len(channel.value)))
    assert judged(STUCK, shut, DAYS) == []


def test_an_outage_between_two_equal_readings_does_not_count() -> None:
    channel = probe(cave(CELLAR), "humidity", 2, interval_min=10, resolution=0.5)
    quiet = channel.without(HANGS_FROM_MS, HANGS_FROM_MS + 2 * DAY_MS)
    before, after = quiet.taken_ms < HANGS_FROM_MS, quiet.taken_ms >= HANGS_FROM_MS
    value = quiet.value.copy()
    value[np.argmax(after)] = value[before][-1]
    assert judged(STUCK, quiet.with_values(value), DAYS) == []


def test_typed_readings_may_repeat() -> None:
    taken = BEGIN_MS + np.arange(0, 16 * DAY_MS, HOUR_MS // 4, dtype=np.int64)
    typed = Channel("humidity", taken, np.full(len(taken), 85.0), mark=np.full(len(taken), int(Mark.TYPED)))
    assert judged(STUCK, typed, 16) == []
    assert len(judged(STUCK, replace(typed, mark=None), 16)) == 1
