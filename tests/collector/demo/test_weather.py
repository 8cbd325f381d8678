from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from collector.demo.vapour import humidity_pct
from collector.demo.weather import DAY_MS, HOUR_MS, YEAR_MS, outside, season

# 1 January 2025, 00:00 UTC.
NEW_YEAR_MS = 1_735_689_600_000


def a_year(seed: int = 7):
    return outside(seed, NEW_YEAR_MS + HOUR_MS * np.arange(365 * 24))


def test_january_is_the_depth_of_winter():
    days = NEW_YEAR_MS + DAY_MS * np.arange(365)
    assert 10 <= int(np.argmin(season(days))) <= 22
    assert 190 <= int(np.argmax(season(days))) <= 206
    assert season(days).min() == pytest.approx(-1, abs=1e-3)


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_a_year_has_frost_and_summer_days(seed):
    temperature_c = a_year(seed).temperature_c
    by_month = temperature_c.reshape(73, -1).mean(axis=1)
    assert -12 < temperature_c.min() < 1
    assert 23 < temperature_c.max() < 36
    assert by_month[36:44].mean() - by_month[:8].mean() > 9


def test_the_afternoon_is_warmer_than_the_early_morning_and_drier():
    air = a_year()
    temperature_c = air.temperature_c.reshape(365, 24)
    humidity = humidity_pct(air.vapour_kg_m3, air.temperature_c).reshape(365, 24)
    assert (temperature_c[:, 14] - temperature_c[:, 3]).mean() > 3
    assert (humidity[:, 3] - humidity[:, 14]).mean() > 8


def test_weather_comes_in_spells_of_several_days():
    daily = a_year().temperature_c.reshape(365, 24).mean(axis=1)
    # What is left after the season's course: tomorrow is like today, a fortnight on nothing is left.
    days = NEW_YEAR_MS + DAY_MS * np.arange(365)
    left = daily - np.polynomial.Polynomial.fit(season(days), daily, 2)(season(days))
    assert np.corrcoef(left[:-1], left[1:])[0, 1] > 0.6
    assert np.corrcoef(left[:-3], left[3:])[0, 1] > 0.15
    assert abs(np.corrcoef(left[:-25], left[25:])[0, 1]) < 0.25


def test_the_air_is_never_wetter_than_saturated_and_never_bone_dry():
    air = a_year()
    humidity = humidity_pct(air.vapour_kg_m3, air.temperature_c)
    assert humidity.min() > 25
    assert humidity.max() <= 99.5 + 1e-9
    assert 70 < humidity.mean() < 90


def test_the_pressure_is_that_of_a_low_place():
    pressure_pa = a_year().pressure_pa
    assert 97_000 < pressure_pa.min() < pressure_pa.max() < 105_500


def test_another_seed_is_another_weather():
    assert np.abs(a_year(7).temperature_c - a_year(8).temperature_c).max() > 3


@settings(max_examples=25)
@given(st.integers(-20 * YEAR_MS, 80 * YEAR_MS), st.lists(st.integers(1, 4000), min_size=1, max_size=6))
def test_the_weather_is_the_same_for_every_way_of_cutting_the_time(start_ms, lengths):
    edges = np.concatenate(([0], np.cumsum(lengths)))
    at_ms = start_ms + 60_000 * np.arange(edges[-1])
    whole = outside(5, at_ms)
    for first, last in pairwise(edges.tolist()):
        part = outside(5, at_ms[first:last])
        assert (part.temperature_c == whole.temperature_c[first:last]).all()
        assert (part.vapour_kg_m3 == whole.vapour_kg_m3[first:last]).all()
        assert (part.pressure_pa == whole.pressure_pa[first:last]).all()
