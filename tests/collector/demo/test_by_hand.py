import numpy as np
import pytest

from collector.demo.by_hand import looked_at_ms, read_dial
from collector.demo.weather import DAY_MS, HOUR_MS


def test_the_dial_is_looked_at_on_the_morning_round_on_a_whole_minute():
    looked = np.array([looked_at_ms(7, day) for day in range(20_000, 20_050)])
    assert (looked % 60_000 == 0).all()
    assert (looked % DAY_MS >= 7.5 * HOUR_MS).all()
    assert (looked % DAY_MS < 8 * HOUR_MS).all()


def test_the_dial_is_read_to_half_degrees_and_is_off_as_stated():
    read = [read_dial(7, "counter", day * DAY_MS, 18.1, 55.0) for day in range(20_000, 20_400)]
    assert {2 * r.temperature_c % 1 for r in read} == {0.0}
    assert {r.humidity_pct % 1 for r in read} == {0.0}
    assert np.mean([r.temperature_c for r in read]) == pytest.approx(18.7, abs=0.1)
    assert np.mean([r.humidity_pct for r in read]) == pytest.approx(51, abs=0.3)


def test_a_dial_shows_no_more_than_100_percent():
    assert read_dial(7, "counter", 0, 18.0, 120.0).humidity_pct == 100.0
