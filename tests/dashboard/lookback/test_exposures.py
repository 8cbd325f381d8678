"""Exposures hour by hour, and that they do not depend on how often a probe speaks."""

import numpy as np
import pytest

from collector.air.model import STEP_MS
from collector.moist_air import vapour_deficit_pa
from collector.readings.coverage import held_ms, spread_within, time_weighted
from dashboard.lookback.exposures import EXPOSURES, Limits, hours_of
from dashboard.lookback.windows import DAY_MS, stretches

LIMITS = Limits(92.0, 80.0, 14.5)
BEGIN_MS = 1_700_000_400_000 // 3_600_000 * 3_600_000


def course(temperature_c, humidity_pct, known=None, **more):
    t, h = np.broadcast_arrays(np.asarray(temperature_c, dtype=float), np.asarray(humidity_pct, dtype=float))
    grid = BEGIN_MS + STEP_MS * np.arange(len(t), dtype=np.int64)
    share = np.ones(len(t)) if known is None else np.asarray(known, dtype=float)
    return hours_of(grid, t.copy(), h.copy(), share, LIMITS, **more)


def total(hours, name):
    whole = stretches(hours, len(hours) * 3_600_000, int(hours.start_ms[0]))
    return float(whole.by_name[name][0])


def test_every_hour_above_the_limit_counts_as_too_damp():
    humidity = np.concatenate([np.full(72, 86.0), np.full(60, 95.0), np.full(72, 86.0)])
    assert total(course(np.full(204, 12.0), humidity), "too_damp_h") == pytest.approx(10.0, abs=0.7)


def test_a_cooler_that_swings_about_the_middle_is_neither_too_damp_nor_too_dry():
    swing = 86 + 9 * np.sin(2 * np.pi * np.arange(432) / 3)
    hours = course(np.full(432, 12.0), swing)
    assert total(hours, "too_damp_h") == total(hours, "too_dry_h") == 0
    assert total(hours, "swing_pct") > 14


def test_the_largest_fall_is_that_of_a_quarter_of_a_day():
    humidity = np.concatenate([np.full(144, 90.0), np.full(36, 70.0), np.full(144, 90.0)])
    assert total(course(np.full(324, 12.0), humidity), "largest_fall_pct") == pytest.approx(20.0)


def test_wheels_sweat_when_warm_damp_air_comes_in_and_not_before():
    temperature = np.concatenate([np.full(288, 10.0), np.full(18, 16.0)])
    hours = course(temperature, np.full(306, 90.0))
    assert np.nansum(hours.by_name["sweat_h"][:47]) == 0
    assert np.nansum(hours.by_name["sweat_h"][47:]) == pytest.approx(3.0, abs=0.2)


def test_a_surface_below_the_dew_point_drips():
    hours = course(np.full(144, 12.0), np.full(144, 90.0), surface_c=np.full(144, 9.0))
    assert total(hours, "drip_h") == pytest.approx(24.0)
    assert "drip_h" not in course(np.full(144, 12.0), np.full(144, 90.0)).by_name


def test_the_deficit_is_derived_before_it_is_averaged():
    swing_c = 12 + 3 * np.sin(2 * np.pi * np.arange(432) / 6)
    swing_pct = 85 - 8 * np.sin(2 * np.pi * np.arange(432) / 6)
    own = total(course(swing_c, swing_pct), "mean_deficit_pa")
    assert own == pytest.approx(float(np.mean(vapour_deficit_pa(swing_c, swing_pct))), rel=1e-9)
    assert own > 1.02 * float(vapour_deficit_pa(12.0, 85.0))


def test_a_gap_is_unknown_and_not_good_air():
    humidity = np.full(288, 95.0)
    humidity[144:] = np.nan
    whole = stretches(course(np.full(288, 12.0), humidity, known=np.isfinite(humidity)), 2 * DAY_MS, BEGIN_MS)
    assert whole.known[0] == pytest.approx(0.5)
    assert whole.by_name["too_damp_h"][0] == pytest.approx(48.0, rel=0.02)


def test_a_limit_that_a_rind_does_not_feel_is_left_out():
    grid = BEGIN_MS + STEP_MS * np.arange(12, dtype=np.int64)
    found = hours_of(grid, np.full(12, 12.0), np.full(12, 99.0), np.ones(12), Limits(None, None, None))
    assert not {"too_damp_h", "too_dry_h", "too_warm_h"} & set(found.by_name)


def test_shapes_that_differ_are_refused():
    with pytest.raises(ValueError, match="must have one shape"):
        hours_of(np.arange(3), np.zeros(3), np.zeros(2), np.zeros(3), LIMITS)


def true_air(at_ms, cycle_min=30.0):
    """Six days with a cooler, a damp day, a dry day, a warm damp visit."""
    day = (at_ms - BEGIN_MS) / DAY_MS
    cycle = np.sin(2 * np.pi * day * 24 * 60 / cycle_min)
    humidity = 86 + 2 * cycle + 9 * ((day > 1.2) & (day < 2.5)) - 10 * ((day > 3.3) & (day < 4.4))
    temperature = 12 - 0.4 * cycle + 4 * ((day > 5.0) & (day < 5.4))
    return temperature, humidity


def heard(how, drawn, cycle_min=30.0):
    """When a probe speaks, and how long it promised to be silent at the most."""
    end = BEGIN_MS + 6 * DAY_MS
    if how == "every 10 s":
        return np.arange(BEGIN_MS, end, 10_000, dtype=np.int64), None
    if how == "every 5 min":
        return np.arange(BEGIN_MS, end, 300_000, dtype=np.int64), None
    if how == "uneven":
        gaps = drawn.uniform(10_000, 110_000, 6 * 86_400 // 10)
        times = BEGIN_MS + np.cumsum(gaps).astype(np.int64)
        return np.concatenate([[BEGIN_MS], times[times < end]]), None
    fine = np.arange(BEGIN_MS, end, 5_000, dtype=np.int64)
    rough = np.round(true_air(fine, cycle_min)[1] / 0.1)
    said = np.concatenate([[True], np.diff(rough) != 0])
    said[:: 3_600 // 5] = True
    return fine[said], 3_600_000.0


def exposed(how, cycle_min):
    """The exposures of the same air as a probe has them that speaks in this way."""
    edges = np.arange(BEGIN_MS, BEGIN_MS + 6 * DAY_MS + 1, STEP_MS, dtype=np.int64)
    taken, promised = heard(how, np.random.default_rng(4), cycle_min)
    held = held_ms(taken, int(edges[-1]), promised)
    temperature, humidity = true_air(taken, cycle_min)
    (warm, covered), (damp, _) = (time_weighted(taken, held, value, edges) for value in (temperature, humidity))
    within = spread_within(taken, held, humidity, edges)
    hours = hours_of(edges[:-1], warm, damp, covered / STEP_MS, LIMITS, within_pct=within)
    return {row.name: total(hours, row.name) for row in EXPOSURES if row.name in hours.by_name}


@pytest.mark.parametrize("cycle_min", [30.0, 34.0, 45.0, 60.0, 240.0])
@pytest.mark.parametrize("how", ["every 5 min", "uneven", "on change"])
def test_the_same_air_gives_the_same_exposures_however_often_a_probe_speaks(how, cycle_min):
    told, often = exposed(how, cycle_min), exposed("every 10 s", cycle_min)
    for name, value in often.items():
        assert told[name] == pytest.approx(value, rel=0.01), name


@pytest.mark.parametrize("cycle_min", [15.0, 17.0, 20.0, 25.0, 90.0, 120.0])
@pytest.mark.parametrize("how", ["every 5 min", "uneven", "on change"])
def test_a_swing_is_the_same_where_two_means_of_ten_minutes_are_a_whole_cycle_or_more(how, cycle_min):
    told, often = exposed(how, cycle_min), exposed("every 10 s", cycle_min)
    assert told["swing_pct"] == pytest.approx(often["swing_pct"], rel=0.01)


def test_the_swing_of_an_even_wave_is_its_height():
    """From trough to crest; a sine's standard deviation is its height by two square roots of two."""
    at_ms = np.arange(BEGIN_MS, BEGIN_MS + 2 * DAY_MS, 10_000, dtype=np.int64)
    wave = 85 + 4 * np.sin(2 * np.pi * (at_ms - BEGIN_MS) / 1_740_000)
    edges = np.arange(BEGIN_MS, BEGIN_MS + 2 * DAY_MS + 1, STEP_MS, dtype=np.int64)
    held = held_ms(at_ms, int(edges[-1]))
    mean, within = time_weighted(at_ms, held, wave, edges)[0], spread_within(at_ms, held, wave, edges)
    hours = hours_of(edges[:-1], np.full(288, 12.0), mean, np.ones(288), LIMITS, within_pct=within)
    assert hours.by_name["swing_pct"][4:] == pytest.approx(8.0, rel=0.01)


def test_air_that_stands_still_does_not_swing_at_all():
    hours = course(np.full(3_000, 12.0), np.full(3_000, 85.123))
    assert set(hours.by_name["swing_pct"]) == {0.0}


def test_of_less_than_half_an_hour_no_swing_is_told():
    humidity = np.full(36, np.nan)
    humidity[20:22] = 80.0, 90.0
    hours = course(np.full(36, 12.0), humidity)
    assert np.isnan(hours.by_name["swing_pct"]).all()
