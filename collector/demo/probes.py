"""The demo's probes: where each hangs, how it errs, and what it makes of the true air of a UTC day."""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from collector.demo.noise import FloatArray, TimeArray, generator, wander
from collector.demo.openings import MINUTE_MS
from collector.demo.weather import DAY_MS, HOUR_MS

# How many minutes before midnight a day's air begins, so that a slow element has something to lag behind.
LEAD_IN = 60
# Elements remember this many minutes; the slowest here forgets all but 1e-4 of them.
LAG_TAPS = 30
# A hygrometer's error is not white alone: it creeps by some half a percent over days (own choice).
CREEP_KNOT_MS = 30 * HOUR_MS
BAROMETER_NOISE_PA = 8.0
# Waking up and measuring takes a probe a little while that is never quite the same.
WAKING_MS = 700


class Measures(StrEnum):
    """What a probe is on to."""

    AIR = "air"
    SURFACE = "surface"
    DOOR = "door"


@dataclass(frozen=True, slots=True)
class OnChange:
    """Publishes when a value has moved by so much since it last did, and at the latest every `latest_s`."""

    temperature_k: float
    humidity_pct: float
    latest_s: int


@dataclass(frozen=True, slots=True)
class Battery:
    """Fresh so many days before the anchor's day, empty after `life_d`; the keeper swaps it at the last moment."""

    fresh_days_back: int
    life_d: float


@dataclass(frozen=True, slots=True)
class Probe:
    """A probe and its errors.

    Attributes:
        name: its name on the wire.
        place: the place it hangs in.
        measures: what it is on to.
        interval_s, phase_s: how often it looks [s], and how far after midnight it does so first [s].
        on_change: None publishes each look.
        lag_s: the time in which its element follows 63 % of a step [s].
        temperature_off_k, humidity_off_pct: what it always reads too much.
        temperature_noise_k, humidity_noise_pct: spread of a single look.
        humidity_creep_pct: spread of the slow error.
        temperature_step_k, humidity_step_pct: the steps in which it counts, 1 or a whole part of it.
        barometer: reads the barometric pressure too.
        battery: None is fed from the mains.
        signal_dbm: strength of its radio, about.
    """

    name: str
    place: str
    measures: Measures
    interval_s: int
    phase_s: int = 0
    on_change: OnChange | None = None
    lag_s: float = 120.0
    temperature_off_k: float = 0.0
    humidity_off_pct: float = 0.0
    temperature_noise_k: float = 0.02
    humidity_noise_pct: float = 0.12
    humidity_creep_pct: float = 0.4
    temperature_step_k: float = 0.01
    humidity_step_pct: float = 0.01
    barometer: bool = False
    battery: Battery | None = None
    signal_dbm: float = -60.0


@dataclass(frozen=True, slots=True)
class TrueAir:
    """The air at a probe in each minute from `LEAD_IN` minutes before a UTC day to its end: degC, %, Pa."""

    temperature_c: FloatArray
    humidity_pct: FloatArray
    pressure_pa: FloatArray


@dataclass(frozen=True, slots=True)
class Looks:
    """What a probe reads at each of its looks: times [ms since 1970, UTC] and a value each, by quantity."""

    taken_ms: TimeArray
    values: dict[str, FloatArray]


def looks(probe: Probe, seed: int, day: int, true_air: TrueAir) -> Looks:
    """What the probe reads on a UTC day when nothing is wrong with it.

    Args:
        probe: an air or surface probe.
        seed: the world's seed, 0 to 2**64 - 1.
        day: days since 1970-01-01 UTC.
        true_air: the air (or the surface's temperature) from `LEAD_IN` minutes before the day to its end.
    Returns:
        Its looks, in order of time, all within the day.
    Raises:
        ValueError: a seed outside its range.
    """
    taken_ms = _taken(probe, seed, day)
    minute = LEAD_IN + (taken_ms - day * DAY_MS) // MINUTE_MS
    chance = generator(seed, f"probe/{probe.name}", day).standard_normal((3, taken_ms.size))
    felt_c = _lagged(true_air.temperature_c, probe.lag_s)[minute] + probe.temperature_off_k
    temperature_c = _counted(felt_c + probe.temperature_noise_k * chance[0], probe.temperature_step_k)
    if probe.measures is Measures.SURFACE:
        return Looks(taken_ms, {"surface_temperature": temperature_c})
    creep = probe.humidity_creep_pct * wander(seed, f"creep/{probe.name}", taken_ms, CREEP_KNOT_MS)
    felt_pct = _lagged(true_air.humidity_pct, probe.lag_s)[minute] + probe.humidity_off_pct + creep
    felt_pct = _counted(felt_pct + probe.humidity_noise_pct * chance[1], probe.humidity_step_pct)
    values = {"temperature": temperature_c, "humidity": np.minimum(np.maximum(felt_pct, 0.0), 100.0)}
    if probe.barometer:
        pressure_pa = true_air.pressure_pa[minute] + BAROMETER_NOISE_PA * chance[2]
        values["pressure"] = np.rint(pressure_pa / 10) / 10
    return Looks(taken_ms, values)


def _taken(probe: Probe, seed: int, day: int) -> TimeArray:
    count = 86_400 // probe.interval_s
    waking_ms = generator(seed, f"waking/{probe.name}", day).integers(0, WAKING_MS, count)
    steady_ms = (probe.phase_s + probe.interval_s * np.arange(count, dtype=np.int64)) * 1000
    taken_ms: TimeArray = day * DAY_MS + steady_ms + waking_ms
    return taken_ms


def _lagged(course: FloatArray, lag_s: float) -> FloatArray:
    """First-order lag, written as a finite sum so that it is the same wherever the day's air begins."""
    keeps = float(np.exp(-60.0 / lag_s)) if lag_s > 0 else 0.0
    weights = [keeps**tap for tap in range(LAG_TAPS)]
    felt = np.zeros(course.size)
    for tap, weight in enumerate(weights):
        felt[LEAD_IN:] += weight * course[LEAD_IN - tap : course.size - tap]
    return felt / sum(weights)


def _counted(value: FloatArray, step: float) -> FloatArray:
    # Dividing by a whole number of parts gives the nearest double of 11.98, where counting up 0.01s would not.
    parts = round(1 / step)
    counted: FloatArray = np.rint(value * parts) / parts
    return counted


def battery_pct(battery: Battery, anchor_ms: int, at_ms: TimeArray) -> FloatArray:
    """Charge that the probe reports.

    Args:
        battery: the battery.
        anchor_ms: the demo's first start [ms since 1970, UTC]; only its UTC day counts.
        at_ms: times [ms since 1970, UTC].
    Returns:
        Charge [%], 100 when fresh; a new one goes in as it falls below 5.
    """
    fresh_ms = (anchor_ms // DAY_MS - battery.fresh_days_back) * DAY_MS
    used = (at_ms - fresh_ms) / (battery.life_d * DAY_MS)
    used = used - 0.95 * np.floor(used / 0.95)
    return np.rint(100 * (1 - used))


def signal_dbm(probe: Probe, seed: int, at_ms: TimeArray) -> FloatArray:
    """Strength of the probe's radio [dBm], whole numbers that wander by some four."""
    return np.rint(probe.signal_dbm + 3.5 * wander(seed, f"signal/{probe.name}", at_ms, 2 * HOUR_MS))
