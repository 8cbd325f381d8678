"""Builders of a cooler's temperature: a saw with a given length, share of cooling and swing."""

import numpy as np
import numpy.typing as npt

from collector.air.model import STEP_MS
from collector.readings.model import Series
from collector.rules.model import PlaceSituation
from tests.collector.rules.places import START_MS, a_situation, an_air

DAY_MIN = 1440


def a_saw(
    minutes: int,
    *,
    length_min: npt.ArrayLike = 40.0,
    duty: npt.ArrayLike = 0.3,
    swing_k: npt.ArrayLike = 2.0,
    mean_c: npt.ArrayLike = 12.0,
    noise_k: float = 0.03,
    seed: int = 0,
) -> np.ndarray:
    """Temperature once a minute; every figure may change from minute to minute."""
    shape = (minutes,)
    length, share, swing, mean = (
        np.broadcast_to(np.asarray(x, float), shape) for x in (length_min, duty, swing_k, mean_c)
    )
    phase = np.cumsum(1 / length) % 1
    saw = np.where(phase < share, 0.5 - phase / share, (phase - share) / (1 - share) - 0.5)
    return np.asarray(mean + swing * saw + noise_k * np.random.default_rng(seed).standard_normal(minutes))


def a_series(temperature_c: np.ndarray, *, every_ms: int = 60_000, start_ms: int = START_MS) -> Series:
    taken = start_ms + every_ms * np.arange(len(temperature_c), dtype=np.int64)
    nothing = np.zeros(len(taken), dtype=np.int64)
    return Series(taken, temperature_c, nothing, nothing, {0: "Cel"})


def a_cooled_place(
    temperature_c: np.ndarray, *, outside_c: np.ndarray | None = None, **targets: object
) -> PlaceSituation:
    """A place whose probe reads once a minute; the air outside, if given, is one value a step."""
    usual = np.nan_to_num(temperature_c, nan=-99.0).reshape(-1, 10)
    steps = np.where((usual == -99.0).any(axis=1), np.nan, usual.mean(axis=1))
    outside = None if outside_c is None else an_air(outside_c, np.full(len(steps), 70.0))
    known = ~np.isnan(temperature_c)
    raw = a_series(temperature_c)
    raw = Series(raw.taken_ms[known], raw.value[known], raw.unit[known], raw.mark[known], raw.units)
    air = an_air(steps, np.where(np.isnan(steps), np.nan, 86.0))
    assert int(air.start_ms[-1]) - START_MS == (len(steps) - 1) * STEP_MS
    return a_situation(air, raw_temperature=raw, outside=outside, **targets)  # type: ignore[arg-type]
