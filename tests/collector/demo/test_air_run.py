from dataclasses import fields
from itertools import pairwise

import numpy as np
import pytest

from collector.demo.air_run import DayAir, run
from collector.demo.driving import FILLED_MINUTE, drive_of
from collector.demo.probes import LEAD_IN
from collector.demo.vapour import humidity_pct
from collector.demo.weather import DAY_MS

CELLAR, WASHED, COLD, BOX = range(4)


def same(one: DayAir, other: DayAir) -> bool:
    return all(np.array_equal(getattr(one, f.name), getattr(other, f.name)) for f in fields(DayAir))


def test_a_day_is_the_same_alone_and_in_any_company(world):
    day = world.anchor_ms // DAY_MS - 9
    alone = run(world, [day])[0]
    among = run(world, [day + 40, day, day - 1])
    assert [air.day for air in among] == [day + 40, day, day - 1]
    assert same(alone, among[1])
    assert not same(alone, among[2])


@pytest.mark.parametrize("season", range(4))
def test_days_meet_at_midnight(calm_seasons, season):
    """Each day has its own two days before; what they make of its last minute is what the next day starts from."""
    for today, tomorrow in pairwise(calm_seasons[season]):
        last_c, first_c = today.temperature_c[-1], tomorrow.temperature_c[LEAD_IN - 1]
        humidity = humidity_pct(today.vapour_kg_m3[-1], last_c)
        onward = humidity_pct(tomorrow.vapour_kg_m3[LEAD_IN - 1], first_c)
        # A fridge's cycle may be a minute out of step, and moves by some 0.1 K a minute; the cellar hardly moves.
        assert np.abs(last_c - first_c)[[WASHED, COLD, BOX]].max() < 0.3
        assert np.abs(humidity - onward)[[WASHED, COLD, BOX]].max() < 0.6
        assert abs(last_c[CELLAR] - first_c[CELLAR]) < 0.01
        assert abs(humidity[CELLAR] - onward[CELLAR]) < 0.3
        assert np.abs(last_c - first_c)[4:].max() == 0


@pytest.mark.parametrize("season", range(4))
def test_fridges_cycle_every_20_to_45_minutes_by_one_to_two_kelvins_and_some_ten_points(calm_seasons, season):
    # Common practice, no source.
    air = calm_seasons[season][2]
    for room in (WASHED, COLD):
        starts = np.flatnonzero(np.diff(air.cooling[LEAD_IN:, room].astype(int)) == 1)
        assert 20 <= np.median(np.diff(starts)) <= 45
        hours = slice(LEAD_IN + 60, LEAD_IN + 360)
        temperature_c = air.temperature_c[hours, room]
        humidity = humidity_pct(air.vapour_kg_m3[hours, room], temperature_c)
        assert 1.0 < np.ptp(temperature_c) < 2.0
        assert 5.0 < np.ptp(humidity) < 13.0


def test_a_box_hardly_feels_the_cycles_of_its_fridge(calm_seasons):
    air = calm_seasons[0][0]
    hours = slice(LEAD_IN + 60, LEAD_IN + 360)
    assert np.ptp(air.temperature_c[hours, BOX]) < 0.3 * np.ptp(air.temperature_c[hours, WASHED])


def test_the_minutes_before_midnight_are_those_of_the_same_run(calm_seasons):
    air = calm_seasons[1][3]
    assert air.temperature_c.shape == (LEAD_IN + 1440, 6)
    steps = np.abs(np.diff(air.temperature_c[:, CELLAR]))
    assert steps[LEAD_IN - 2 : LEAD_IN + 2].max() < 0.02


def test_the_keeper_fills_the_humidifiers_each_morning_but_where_the_tale_says_otherwise(world, calm_world):
    day = world.anchor_ms // DAY_MS - 9
    assert drive_of(calm_world, day).filled.sum(axis=0).tolist() == [1, 1, 1, 1]
    assert drive_of(calm_world, day).filled[FILLED_MINUTE].all()
    assert drive_of(world, day).filled[:, CELLAR].sum() == 0
