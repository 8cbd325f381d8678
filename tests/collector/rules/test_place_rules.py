"""What no rule about a place may make a fuss of, and what all of them owe to the watch."""

import json

import numpy as np
import pytest

from collector.rules.model import PlaceRule, PlaceSituation, Verdict
from collector.rules.place_rules import PLACE_RULES
from tests.collector.rules.coolers import DAY_MIN, a_saw, a_series
from tests.collector.rules.places import DAY, START_MS, a_situation, an_air

DAYS = 36


def a_fridge(**changes: object) -> tuple[np.ndarray, np.ndarray]:
    """Temperature and humidity once a minute: a cycle of 40 minutes, 2 K and 10 points, a small day, some wander."""
    rng = np.random.default_rng(6)
    minutes = np.arange(DAYS * DAY_MIN)
    saw = a_saw(len(minutes), mean_c=0.0, **changes)  # type: ignore[arg-type]
    day = np.sin(2 * np.pi * minutes / DAY_MIN)
    wander = np.interp(minutes, np.arange(0, len(minutes), 360), rng.standard_normal(len(minutes) // 360))
    return 12 + saw + 0.2 * day + 0.15 * wander, 88 - 5 * saw + 0.5 * day + 0.5 * wander


def watched(air_c: np.ndarray, air_pct: np.ndarray, **targets: object) -> PlaceSituation:
    t, h = air_c.reshape(-1, 10).mean(axis=1), air_pct.reshape(-1, 10).mean(axis=1)
    air = an_air(t, h, surface_c=np.full(len(t), 11.5))
    defaults: dict[str, object] = {"humidity": (83.0, 93.0)}
    return a_situation(air, raw_temperature=a_series(air_c), **(defaults | targets))  # type: ignore[arg-type]


def judged(situation: PlaceSituation) -> list[Verdict]:
    return [verdict for rule in PLACE_RULES.values() for verdict in rule.judge(situation, None)]


def test_a_fridge_that_cycles_at_its_target_opens_nothing() -> None:
    temperature, humidity = a_fridge()
    assert humidity.max() > 93 + 0.5
    assert judged(watched(temperature, humidity)) == []


def test_a_door_open_for_ten_minutes_each_day_opens_nothing() -> None:
    temperature, humidity = a_fridge()
    for day in range(DAYS):
        visit = slice(day * DAY_MIN + 600, day * DAY_MIN + 610)
        temperature[visit] += 5
        humidity[visit] -= 25
    assert judged(watched(temperature, humidity)) == []


def test_a_cleaning_day_opens_nothing() -> None:
    temperature, humidity = a_fridge()
    rest = slice(30 * DAY_MIN + 540, 30 * DAY_MIN + 1020)
    temperature[rest], humidity[rest] = 21.0, 40.0
    back = np.linspace(1, 0, 180)
    after = slice(30 * DAY_MIN + 1020, 30 * DAY_MIN + 1200)
    temperature[after] += 9 * back
    humidity[after] -= 45 * back
    resting = np.zeros(DAYS * DAY, dtype=bool)
    resting[30 * DAY + 54 : 30 * DAY + 102] = True
    assert judged(watched(temperature, humidity, resting=resting)) == []


def test_a_target_changed_on_purpose_opens_nothing() -> None:
    temperature, humidity = a_fridge()
    moved = np.clip((np.arange(DAYS * DAY_MIN) - 30 * DAY_MIN) / (0.8 * DAY_MIN), 0, 1)
    low = np.where(np.arange(DAYS * DAY) < 30 * DAY, 10.0, 7.0)
    assert judged(watched(temperature - 3 * moved, humidity, temperature=(low, low + 4))) == []


@pytest.mark.parametrize("rule", PLACE_RULES.values(), ids=lambda rule: rule.name)
def test_a_rule_bears_an_empty_record_and_a_silent_one(rule: PlaceRule) -> None:
    nothing = np.empty(0)
    silent = np.full(3 * DAY, np.nan)
    assert rule.judge(a_situation(an_air(nothing, nothing)), None) == []
    assert rule.judge(a_situation(an_air(silent, silent, surface_c=silent)), None) == []


@pytest.mark.parametrize("rule", PLACE_RULES.values(), ids=lambda rule: rule.name)
def test_a_spell_is_handed_back_where_there_is_nothing_to_judge(rule: PlaceRule) -> None:
    open_spell = Verdict(rule.name, START_MS - 1, None, {"since_ms": START_MS - 2})
    [back] = rule.judge(a_situation(an_air(np.empty(0), np.empty(0))), open_spell)
    assert (back.opened_ms, back.cleared_ms, back.facts["since_ms"]) == (START_MS - 1, None, START_MS - 2)


def test_facts_can_be_kept_as_json() -> None:
    temperature, humidity = a_fridge(duty=np.where(np.arange(DAYS * DAY_MIN) < 28 * DAY_MIN, 0.3, 0.6))
    since = np.maximum(0, np.arange(DAYS * DAY_MIN) - 30 * DAY_MIN) / DAY_MIN
    found = judged(watched(temperature + 2 * since, np.minimum(humidity + 3 * since, 100)))
    assert {verdict.rule for verdict in found} >= {
        "too_warm",
        "too_damp",
        "leaving",
        "cooler_changed",
        "surface_may_drip",
    }
    for verdict in found:
        assert json.loads(json.dumps(verdict.facts, allow_nan=False)) == verdict.facts
        assert verdict.rule in PLACE_RULES


def test_rows_are_named_once_and_forget_within_a_month() -> None:
    assert all(name == rule.name for name, rule in PLACE_RULES.items())
    assert all(0 < rule.memory_ms <= 31 * 86_400_000 for rule in PLACE_RULES.values())
