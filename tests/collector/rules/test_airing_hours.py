import numpy as np
import pytest

from collector.air.model import STEP_MS, Air
from collector.moist_air import dew_point_c
from collector.rules.airing import AirNow, advise
from collector.rules.airing_hours import best_hours, coming_hours
from tests.collector.rules.places import DAY, HOUR, START_MS, an_air

HOUR_MS = 3_600_000
CAVE = AirNow(12, 90)


def summer(days: int = 5) -> Air:
    """Outside: 14 to 26 degC with the afternoon, always with the water of a dew point that swings from 8 to 13 degC."""
    hour = np.arange(days * DAY) / HOUR % 24
    temperature = 20 - 6 * np.cos(2 * np.pi * (hour - 3) / 24)
    dew = 10.5 - 2.5 * np.cos(2 * np.pi * (hour - 5) / 24)
    return an_air(temperature, _humidity(temperature, dew))


def _humidity(temperature: np.ndarray, dew: np.ndarray) -> np.ndarray:
    """WMO-No. 8, annex 4.B (Magnus), so that the air is made without the functions under test."""

    def pressure(t: np.ndarray) -> np.ndarray:
        return 6.112 * np.exp(17.62 * t / (243.12 + t))

    return 100 * pressure(dew) / pressure(temperature)


def test_the_best_hours_to_dry_are_the_ones_with_the_least_water_outside() -> None:
    # The dew point is lowest at 5 o'clock; the cave's is 10.4 degC.
    now_ms = START_MS + 5 * DAY * STEP_MS
    best = best_hours(coming_hours(CAVE, summer(), now_ms, "drier"))
    at = [(hour.start_ms // HOUR_MS) % 24 for hour in best]
    assert len(at) == 3
    assert {4, 5} < set(at) <= {3, 4, 5, 6}
    assert all(now_ms <= hour.start_ms < now_ms + 24 * HOUR_MS for hour in best)
    assert best[1].days == 5


def test_an_hour_says_what_airing_at_that_hour_said() -> None:
    # The days are alike, so the forecast for an hour is what advise says of that hour's air.
    now_ms = START_MS + 5 * DAY * STEP_MS
    hours = coming_hours(CAVE, summer(), now_ms, "drier")
    noon = hours[12]
    part = summer()
    at = slice(12 * HOUR, 13 * HOUR)
    told = advise(CAVE, AirNow(float(part.temperature_c.mean[at].mean()), float(part.humidity_pct.mean[at].mean())))
    assert noon.water_g_m3 == pytest.approx(told.water_g_m3, abs=0.02)
    assert noon.change_k == pytest.approx(told.change_k, abs=0.01)
    assert noon.water_spread_g_m3 == pytest.approx(0, abs=1e-9)


def test_hours_in_which_something_gets_wet_are_not_good() -> None:
    # From early afternoon on the dew point outside is above 12 degC: it would come down on the wheels.
    hours = coming_hours(CAVE, summer(), START_MS + 5 * DAY * STEP_MS, "warmer")
    wet = [hour for hour in hours if hour.condenses_on]
    assert wet
    assert not any(hour.good for hour in wet)


@pytest.mark.parametrize(("want", "sign"), [("cooler", -1), ("warmer", 1), ("drier", -1), ("damper", 1)])
def test_gain_is_what_is_wanted(want: str, sign: int) -> None:
    for hour in coming_hours(CAVE, summer(), START_MS + 5 * DAY * STEP_MS, want):  # type: ignore[arg-type]
        value = hour.change_k if want in ("cooler", "warmer") else hour.water_g_m3
        assert hour.gain == pytest.approx(sign * value)


def test_days_that_differ_more_than_the_gain_promise_nothing() -> None:
    hot_and_cold = np.repeat([30.0, -4.0, 30.0, -4.0, 11.0], DAY)
    hours = coming_hours(CAVE, an_air(hot_and_cold, np.full(5 * DAY, 40.0)), START_MS + 5 * DAY * STEP_MS, "cooler")
    assert not any(hour.good for hour in hours)


def test_one_day_outside_is_too_little_for_a_forecast() -> None:
    assert coming_hours(CAVE, summer(1), START_MS + DAY * STEP_MS, "drier") == ()


def test_gaps_outside_leave_those_hours_out() -> None:
    air = summer()
    air.temperature_c.mean[: 5 * DAY] = np.where(
        (np.arange(5 * DAY) // HOUR % 24 < 8) & (np.arange(5 * DAY) >= DAY), np.nan, air.temperature_c.mean
    )
    hours = coming_hours(CAVE, air, START_MS + 5 * DAY * STEP_MS, "drier")
    assert [(hour.start_ms // HOUR_MS) % 24 for hour in hours] == list(range(8, 24))


def test_the_cave_of_the_example_is_as_damp_as_it_says() -> None:
    assert float(dew_point_c(12, 90)) == pytest.approx(10.41, abs=0.01)  # PsychroLib, 12 degC 90 %
