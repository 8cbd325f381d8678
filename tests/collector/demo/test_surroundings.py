import numpy as np
import pytest

from collector.demo.surroundings import surroundings
from collector.demo.vapour import humidity_pct
from collector.demo.weather import DAY_MS, HOUR_MS, outside

NEW_YEAR_MS = 1_735_689_600_000
AT_MS = NEW_YEAR_MS + HOUR_MS * np.arange(365 * 24)


@pytest.fixture(scope="module")
def year():
    return surroundings(7, AT_MS)


def test_the_make_room_is_lived_in(year):
    assert 13 < year.make_room_c.min() < year.make_room_c.max() < 24
    humidity = humidity_pct(year.make_room_kg_m3, year.make_room_c)
    assert 25 < humidity.min() < humidity.max() <= 82 + 1e-9


def test_the_make_room_is_dry_in_winter_and_damp_in_summer(year):
    humidity = humidity_pct(year.make_room_kg_m3, year.make_room_c)
    assert humidity[: 59 * 24].mean() + 10 < humidity[190 * 24 : 240 * 24].mean()


def test_the_soil_lags_behind_the_weather_by_weeks(year):
    assert 8 < year.soil_c.min() < year.soil_c.max() < 14
    outside_c = outside(7, AT_MS).temperature_c.reshape(365, 24).mean(axis=1)
    warmest_outside = int(np.argmax(np.convolve(outside_c, np.ones(30) / 30, "same")))
    warmest_soil = int(np.argmax(year.soil_c)) // 24
    assert 25 < warmest_soil - warmest_outside < 110


def test_the_vault_swings_wider_than_the_soil(year):
    assert np.ptp(year.vault_c) > 1.3 * np.ptp(year.soil_c)


def test_a_day_computed_alone_is_the_same(year):
    day = slice(100 * 24, 101 * 24)
    alone = surroundings(7, NEW_YEAR_MS + 100 * DAY_MS + HOUR_MS * np.arange(24))
    for name in ("make_room_c", "make_room_kg_m3", "soil_c", "vault_c"):
        assert (getattr(alone, name) == getattr(year, name)[day]).all()
