from dataclasses import replace

import numpy as np
import pytest

from collector.demo.probes import LEAD_IN, Battery, Measures, Probe, TrueAir, battery_pct, looks, signal_dbm
from collector.demo.weather import DAY_MS, HOUR_MS

DAY = 20_400
PLAIN = Probe(
    "p", "cellar", Measures.AIR, 60, 11, lag_s=0.0, temperature_noise_k=0, humidity_noise_pct=0, humidity_creep_pct=0
)


def true_air(temperature_c: float = 12.0, humidity_pct: float = 88.0) -> TrueAir:
    minutes = LEAD_IN + 1440
    return TrueAir(np.full(minutes, temperature_c), np.full(minutes, humidity_pct), np.full(minutes, 101_325.0))


@pytest.mark.parametrize(("interval_s", "count"), [(60, 1440), (120, 720), (300, 288)])
def test_looks_come_at_the_interval_within_the_day(interval_s, count):
    taken_ms = looks(replace(PLAIN, interval_s=interval_s), 7, DAY, true_air()).taken_ms
    assert taken_ms.size == count
    assert taken_ms[0] >= DAY * DAY_MS + 11_000
    assert taken_ms[-1] < (DAY + 1) * DAY_MS
    assert np.abs(np.diff(taken_ms) - 1000 * interval_s).max() <= 700


def test_a_probe_without_errors_reads_the_truth():
    read = looks(PLAIN, 7, DAY, true_air())
    assert set(read.values["temperature"]) == {12.0}
    assert set(read.values["humidity"]) == {88.0}


def test_offset_and_noise_are_as_stated():
    probe = replace(
        PLAIN,
        temperature_off_k=-0.2,
        humidity_off_pct=3.0,
        temperature_noise_k=0.05,
        humidity_noise_pct=0.3,
        humidity_creep_pct=0.4,
    )
    days = [looks(probe, 7, DAY + n, true_air()).values for n in range(60)]
    temperature_c = np.concatenate([day["temperature"] for day in days])
    humidity = np.array([day["humidity"] for day in days])
    # 86400 looks: the mean of white noise is known to 2e-4 K; the creep forgets in days, so to some 0.1 %.
    assert temperature_c.mean() - 12 == pytest.approx(-0.2, abs=2e-3)
    assert temperature_c.std() == pytest.approx(0.05, rel=0.05)
    assert humidity.mean() - 88 == pytest.approx(3.0, abs=0.2)
    within_the_hour = humidity.reshape(-1, 60).std(axis=1)
    assert within_the_hour.mean() == pytest.approx(0.3, rel=0.05)
    assert humidity.mean(axis=1).std() == pytest.approx(0.4, rel=0.3)


@pytest.mark.parametrize("step", [1.0, 0.5, 0.1, 0.0625, 0.01])
def test_values_are_whole_steps_and_print_short(step):
    probe = replace(PLAIN, temperature_noise_k=0.5, temperature_step_k=step)
    values = looks(probe, 7, DAY, true_air()).values["temperature"]
    assert np.abs(values / step - np.rint(values / step)).max() < 1e-9
    assert max(len(repr(value)) for value in values.tolist()) <= 8
    assert np.unique(values).size > 2


def test_a_slow_element_is_63_percent_there_after_its_lag():
    air = true_air()
    air.temperature_c[LEAD_IN + 600 :] = 13.0
    read = looks(replace(PLAIN, lag_s=300.0), 7, DAY, air).values["temperature"]
    assert read[599] == 12.0
    # One minute's share is felt at once, since the air is only known by the minute.
    assert 0.55 < read[604] - 12.0 < 0.70
    assert read[640] == 13.0


def test_humidity_is_clipped_as_the_sensor_does():
    assert set(looks(PLAIN, 7, DAY, true_air(12.0, 99.9)).values["humidity"]) == {99.9}
    damp = replace(PLAIN, humidity_off_pct=3.0)
    assert set(looks(damp, 7, DAY, true_air(12.0, 99.0)).values["humidity"]) == {100.0}


def test_a_surface_probe_knows_no_humidity_and_a_barometer_reads_hectopascals():
    assert set(looks(replace(PLAIN, measures=Measures.SURFACE), 7, DAY, true_air()).values) == {"surface_temperature"}
    pressure = looks(replace(PLAIN, barometer=True), 7, DAY, true_air()).values["pressure"]
    assert pressure.mean() == pytest.approx(1013.25, abs=0.02)


def test_a_battery_falls_slowly_and_is_swapped_before_it_is_empty():
    at_ms = DAY * DAY_MS + DAY_MS * np.arange(0, 400)
    charge = battery_pct(Battery(fresh_days_back=30, life_d=330.0), DAY * DAY_MS, at_ms)
    assert charge[0] == 91
    assert charge.min() >= 5
    assert set(np.unique(np.diff(charge))) <= {-1.0, 0.0, charge.max() - charge.min()}
    assert np.count_nonzero(np.diff(charge) > 0) == 1


def test_a_signal_wanders_about_its_strength_in_whole_decibels():
    signal = signal_dbm(PLAIN, 7, DAY * DAY_MS + HOUR_MS * np.arange(500))
    assert (signal == np.rint(signal)).all()
    assert signal.mean() == pytest.approx(-60, abs=1.5)
    assert 1 < signal.std() < 6
