import numpy as np

from collector.demo.driving import drive_of, minutes_of
from collector.demo.quillfold_rooms import ROOMS
from collector.demo.weather import DAY_MS

CELLAR, WASHED, COLD, BOX = range(4)


def test_a_day_has_its_1440_minutes():
    minutes = minutes_of(20_000)
    assert minutes[0] == 20_000 * DAY_MS
    assert np.unique(np.diff(minutes)).tolist() == [60_000]
    assert minutes.size == 1440


def test_coolers_rest_before_midnight(calm_world):
    share = drive_of(calm_world, 20_000).cooler_share
    assert (share[-40:, [WASHED, COLD]] == 0).all()
    assert (share[:-40] == 1).all()


def test_the_power_cut_takes_coolers_and_humidifiers_for_three_and_a_half_hours(world):
    day = world.anchor_ms // DAY_MS - 6
    drive = drive_of(world, day)
    for share in (drive.cooler_share, drive.humidifier_share):
        out = np.flatnonzero(share[:1400, COLD] == 0)
        assert (out[0], out[-1], out.size) == (130, 339, 210)


def test_a_fridge_ajar_trades_far_more_air_than_its_seal_lets_through(world, calm_world):
    day = world.anchor_ms // DAY_MS - 4
    ajar, shut = (drive_of(w, day).exchange_m3_s[1235:1380, WASHED] for w in (world, calm_world))
    assert ajar.min() >= 100 * np.median(shut)


def test_a_dying_cooler_loses_its_strength_little_by_little(world):
    day = world.anchor_ms // DAY_MS
    shares = [drive_of(world, day - back).cooler_share[700, COLD] for back in range(66, 44, -1)]
    assert shares[0] > 0.99
    assert (np.diff(shares[:-1]) < 0).all()
    assert shares[-2] < 0.15
    assert shares[-1] == 1


def test_only_the_cellar_breathes_outside_air(world):
    drive = drive_of(world, 20_000)
    assert ROOMS[CELLAR].vented_outside
    assert (drive.around_c[:, WASHED] == drive.around_c[:, COLD]).all()
    assert not (drive.around_c[:, CELLAR] == drive.around_c[:, COLD]).any()


def test_a_vent_that_the_keeper_closes_in_summer_lets_less_through(calm_world):
    # 15 January and 15 July 2025.
    winter, summer = (np.median(drive_of(calm_world, day).exchange_m3_s[:, CELLAR]) for day in (20_103, 20_284))
    assert summer < 0.6 * winter
