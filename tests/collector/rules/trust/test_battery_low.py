import numpy as np
import pytest

from collector.rules.trust.batteries import battery_of
from collector.rules.trust.battery_low import BATTERY_LOW
from tests.collector.rules.trust.caves import BEGIN_MS, DAY_MS, HOUR_MS, Channel, judged

DAYS = 60


def battery(level: np.ndarray | float, quantity: str = "battery", noise: float = 0.3, every_h: float = 1) -> Channel:
    taken = BEGIN_MS + np.arange(0, DAYS * DAY_MS, int(every_h * HOUR_MS), dtype=np.int64)
    day = (taken - BEGIN_MS) / DAY_MS
    rng = np.random.default_rng(4)
    course = np.broadcast_to(level, day.shape) if np.isscalar(level) else np.interp(day, *level)
    return Channel(quantity, taken, course + noise * rng.standard_normal(len(day)))


def falling(start: float, per_day: float) -> np.ndarray:
    days = np.arange(DAYS + 1.0)
    return np.array([days, start - per_day * days])


@pytest.mark.parametrize("every_h", [0.25, 1, 24])
def test_a_falling_battery_is_told_with_its_date(every_h: float) -> None:
    empty_on = 80 / 1.5
    [verdict] = judged(BATTERY_LOW, battery(falling(80, 1.5), every_h=every_h), DAYS)
    opened_day = (verdict.opened_ms - BEGIN_MS) / DAY_MS
    assert empty_on - 15.5 <= opened_day <= empty_on - 8
    assert (verdict.facts["empty_ms"] - BEGIN_MS) / DAY_MS == pytest.approx(empty_on, abs=1.0)
    assert verdict.facts["earliest_ms"] <= verdict.facts["empty_ms"] <= verdict.facts["latest_ms"]
    assert verdict.facts["per_day"] == pytest.approx(-1.5, abs=0.05)


def test_a_low_one_that_hardly_falls_is_told_without_a_date() -> None:
    [verdict] = judged(BATTERY_LOW, battery(12.0), DAYS)
    assert verdict.facts["level"] == pytest.approx(12, abs=1)
    assert verdict.facts["empty_ms"] is None or verdict.facts["empty_ms"] > BEGIN_MS + DAYS * DAY_MS


def test_a_good_battery_is_not_spoken_of() -> None:
    assert judged(BATTERY_LOW, battery(falling(95, 0.2)), DAYS) == []


def test_a_fresh_battery_ends_it_at_once() -> None:
    course = np.array([[0, 49.99, 50, 60], [80, 5, 99, 98]], dtype=float)
    [verdict] = judged(BATTERY_LOW, battery(course), DAYS)
    assert verdict.cleared_ms is not None
    assert (verdict.cleared_ms - BEGIN_MS) / DAY_MS == pytest.approx(50, abs=0.3)


def test_a_warm_afternoon_is_no_fresh_battery() -> None:
    course = battery(falling(80, 1.5))
    warm = course.with_values(course.value + 6 * (course.taken_ms % DAY_MS > DAY_MS // 2))
    [verdict] = judged(BATTERY_LOW, warm, DAYS)
    assert verdict.cleared_ms is None


def test_a_silent_probe_keeps_its_empty_battery_for_a_month() -> None:
    course = battery(falling(40, 1.5)).without(BEGIN_MS + 25 * DAY_MS, BEGIN_MS + 60 * DAY_MS)
    [verdict] = judged(BATTERY_LOW, course, DAYS)
    assert verdict.cleared_ms is not None
    assert (verdict.cleared_ms - BEGIN_MS) / DAY_MS == pytest.approx(55, abs=0.3)


# Levels at which small boards give up: common practice, no source.
@pytest.mark.parametrize(
    ("start", "kind"), [(3.0, "a 3 V battery"), (4.15, "a lithium-ion cell"), (1.55, "one cell"), (6.3, "four cells")]
)
def test_a_voltage_is_judged_by_the_kind_of_battery(start: float, kind: str) -> None:
    one = battery_of("battery_voltage", start)
    assert one is not None
    course = falling(start, (start - one.empty) / 50)
    [verdict] = judged(BATTERY_LOW, battery(course, "battery_voltage", noise=0.005), DAYS)
    assert verdict.facts["kind"] == kind
    assert verdict.facts["empty_level"] == one.empty


def test_a_mains_supply_of_5_volts_is_not_spoken_of() -> None:
    assert judged(BATTERY_LOW, battery(5.05, "battery_voltage", noise=0.02), DAYS) == []


def test_refuses_another_quantity() -> None:
    with pytest.raises(ValueError, match="must be battery or battery_voltage, got humidity"):
        battery_of("humidity", 90)
