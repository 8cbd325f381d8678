from dataclasses import replace
from functools import lru_cache

import numpy as np
import pytest

from collector.rules.model import Verdict
from collector.rules.trust.disagrees import APART, DISAGREES, because
from collector.rules.trust.neighbours import Apart, limit
from tests.collector.rules.trust.caves import (
    BEGIN_MS,
    DAY_MS,
    FRIDGE,
    HOUR_MS,
    WILD_FRIDGE,
    Channel,
    air,
    judged,
    place,
    probe,
)

DAYS = 5
FROM_MS = BEGIN_MS + 2 * DAY_MS


@lru_cache
def honest(name: str, quantity: str = "humidity") -> Channel:
    return probe(air(FRIDGE, DAYS, 5), quantity, ord(name), interval_min=5, offset=(ord(name) - 98) * 0.8)


def off(channel: Channel, by: float) -> Channel:
    return channel.with_values(channel.value + by * (channel.taken_ms >= FROM_MS))


def checked(channel: Channel) -> Channel:
    return replace(channel, uncertainty=0.8)


def all_judged(channels: dict[str, Channel]) -> dict[str, list[tuple[str, Verdict]]]:
    placed = place(channels, DAYS)
    return {
        name: [(rule.name, v) for rule in (DISAGREES, APART) for v in judged(rule, channel, DAYS)]
        for name, channel in placed.items()
    }


def test_of_three_the_one_that_stands_alone_is_doubted() -> None:
    found = all_judged({"a": honest("a"), "b": honest("b"), "c": off(honest("c"), 14)})
    assert found["a"] == found["b"] == []
    [(rule, verdict)] = found["c"]
    assert (rule, verdict.facts["because"], set(verdict.facts["against"])) == ("disagrees", "majority", {"a", "b"})
    assert FROM_MS < verdict.opened_ms <= FROM_MS + DAY_MS
    assert verdict.facts["apart_by"] == pytest.approx(15, abs=2)
    assert verdict.facts["limit"] == pytest.approx(2.5 * np.hypot(2, 2) + 2, abs=1e-4)


def test_of_two_equals_nobody_can_say_and_both_go_on() -> None:
    found = all_judged({"a": honest("a"), "b": off(honest("b"), 14)})
    assert [rule for rule, _ in found["a"] + found["b"]] == ["apart", "apart"]
    assert found["a"][0][1].facts["apart_by"] == pytest.approx(-found["b"][0][1].facts["apart_by"])
    assert not APART.doubts
    assert DISAGREES.doubts


def test_of_two_the_checked_one_is_believed() -> None:
    found = all_judged({"a": checked(honest("a")), "b": off(honest("b"), 14)})
    assert found["a"] == []
    assert [(rule, v.facts["because"]) for rule, v in found["b"]] == [("disagrees", "checked")]


def test_a_checked_one_is_believed_before_two_that_agree() -> None:
    found = all_judged({"a": checked(honest("a")), "b": off(honest("b"), 14), "c": off(honest("c"), 14)})
    assert found["a"] == []
    assert [rule for rule, _ in found["b"] + found["c"]] == ["disagrees", "disagrees"]


def test_it_ends_when_they_agree_again() -> None:
    one = off(honest("c"), 14)
    healed = one.with_values(np.where(one.taken_ms > FROM_MS + DAY_MS, honest("c").value, one.value))
    [(_, verdict)] = all_judged({"a": honest("a"), "b": honest("b"), "c": healed})["c"]
    assert verdict.cleared_ms is not None
    assert verdict.cleared_ms <= FROM_MS + 2 * DAY_MS


@pytest.mark.parametrize(("quantity", "spread"), [("temperature", 0.7), ("humidity", 5.0)])
def test_shelves_of_one_cave_agree(quantity: str, spread: float) -> None:
    course = air(WILD_FRIDGE, DAYS, 5)
    lags = {"top": 1.0, "middle": 3.0, "bottom": 8.0}
    channels = {
        name: probe(course, quantity, i, offset=(i - 1) * spread / 2, lag_min=lag)
        for i, (name, lag) in enumerate(lags.items())
    }
    assert all(found == [] for found in all_judged(channels).values())


def test_an_outage_of_the_neighbour_ends_the_dispute_and_says_nothing() -> None:
    b = honest("b")
    found = all_judged({"a": off(honest("a"), 14), "b": b.without(FROM_MS + 20 * HOUR_MS, BEGIN_MS + DAYS * DAY_MS)})
    [(_, verdict)] = found["a"]
    assert verdict.cleared_ms is not None
    assert verdict.facts["apart_by"] == pytest.approx(13, abs=2)


def test_a_probe_that_falls_silent_stays_doubtful_for_a_day() -> None:
    silent_ms = FROM_MS + 20 * HOUR_MS
    c = off(honest("c"), 14).without(silent_ms, BEGIN_MS + DAYS * DAY_MS)
    [(_, verdict)] = all_judged({"a": honest("a"), "b": honest("b"), "c": c})["c"]
    assert verdict.cleared_ms is not None
    assert verdict.cleared_ms - silent_ms == pytest.approx(DAY_MS, abs=HOUR_MS)


def test_an_outage_of_half_a_day_does_not_cut_a_doubt_in_two() -> None:
    c = off(honest("c"), 14).without(FROM_MS + 30 * HOUR_MS, FROM_MS + 46 * HOUR_MS)
    [(_, verdict)] = all_judged({"a": honest("a"), "b": honest("b"), "c": c})["c"]
    assert verdict.cleared_ms is None


def test_three_that_all_differ_are_disputed_and_none_is_set_aside() -> None:
    far = Apart({"b": 12.0, "c": -12.0}, {"b": 9.0, "c": 9.0}, frozenset(), frozenset(), agreeing=False)
    assert because(far) == "unknown"


def test_a_checked_probe_does_not_doubt_itself() -> None:
    against_poor_ones = Apart({"b": 12.0, "c": 12.0}, {"b": 9.0, "c": 9.0}, frozenset(), frozenset("bc"), agreeing=True)
    assert because(against_poor_ones) is None


def test_the_limit_is_joint_uncertainty_and_the_spread_of_a_place() -> None:
    assert limit("temperature", 0.3, 0.4) == pytest.approx(2.5 * 0.5 + 0.7)


def test_a_battery_has_no_neighbours() -> None:
    assert judged(DISAGREES, replace(honest("a"), quantity="battery"), DAYS) == []
