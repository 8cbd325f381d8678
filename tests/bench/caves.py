"""Simulated caves for the bench of the drift rules: a cooler that cycles, doors, a day, weather, and a planted drift.

Each cave is a row; one minute a column. What the air does slowly (its own wander, the day, the drift) is kept apart as
`true_*`, so that a warning can be called right or false without asking the rules.
"""

from dataclasses import dataclass

import numpy as np

from collector.air.model import STEP_MS, Air, Course, Origin
from collector.readings.model import Series, Values
from collector.rules.model import Band, PlaceSituation

DAY_MIN = 1440
START_MS = 1_772_323_200_000
TARGET_C, HALF_BAND_C = 12.0, 2.0
TARGET_PCT, HALF_BAND_PCT = 86.0, 4.0


@dataclass(frozen=True, slots=True)
class Kind:
    """How lively a cave is: the wander's standard deviation and its time constant, the day's amplitude."""

    name: str
    wander_pct: float
    wander_k: float
    wander_h: float
    day_pct: float
    day_k: float
    swing_pct: float
    swing_k: float


KINDS = (
    Kind("still cellar", 0.5, 0.15, 24.0, 0.3, 0.1, 0.0, 0.0),
    Kind("fridge", 0.8, 0.25, 8.0, 0.6, 0.2, 5.0, 1.0),
    Kind("busy fridge", 1.3, 0.4, 12.0, 1.2, 0.4, 7.0, 1.5),
    Kind("cooled room", 1.0, 0.3, 36.0, 0.8, 0.3, 3.0, 0.7),
)


@dataclass(frozen=True, slots=True)
class Caves:
    """Readings once a minute of many caves, shape (caves, minutes), and what the air did slowly."""

    kinds: tuple[Kind, ...]
    temperature_c: Values
    humidity_pct: Values
    true_c: Values
    true_pct: Values


def simulated(
    per_kind: int,
    days: int,
    seed: int,
    *,
    drift_pct_per_day: float = 0.0,
    drift_k_per_day: float = 0.0,
    from_day: int = 0,
) -> Caves:
    """Caves of every kind.

    Args:
        per_kind: caves of each kind. days: length of the record. seed: of all chance.
        drift_pct_per_day, drift_k_per_day: a drift planted from `from_day` on.
    """
    rng = np.random.default_rng(seed)
    kinds = tuple(kind for kind in KINDS for _ in range(per_kind))
    minutes = np.arange(days * DAY_MIN)
    drifted = np.maximum(0.0, minutes / DAY_MIN - from_day)
    day = np.sin(2 * np.pi * (minutes / DAY_MIN - rng.random((len(kinds), 1))))
    true_pct = TARGET_PCT + drift_pct_per_day * drifted + _column(kinds, "day_pct") * day
    true_c = TARGET_C + drift_k_per_day * drifted + _column(kinds, "day_k") * np.roll(day, 3 * 60, axis=1)
    true_pct = true_pct + _wander(rng, kinds, "wander_pct", len(minutes))
    true_c = true_c + _wander(rng, kinds, "wander_k", len(minutes))
    cycle = _cycle(rng, len(kinds), len(minutes))
    door = _doors(rng, len(kinds), days)
    humidity = true_pct - _column(kinds, "swing_pct") * cycle - 20 * door
    temperature = true_c + _column(kinds, "swing_k") * np.roll(cycle, 4, axis=1) + 4 * door
    humidity = np.clip(np.round(humidity + 0.15 * rng.standard_normal(humidity.shape), 1), 1, 100)
    temperature = np.round(temperature + 0.04 * rng.standard_normal(temperature.shape), 2)
    return Caves(kinds, temperature, humidity, true_c, true_pct)


def situation(caves: Caves, cave: int) -> PlaceSituation:
    """One cave as the rules see it: ten-minute means of its readings, its bands, and its raw temperature."""
    temperature, humidity = _course(caves.temperature_c[cave], 0.1), _course(caves.humidity_pct[cave], 2.0)
    n = len(temperature.mean)
    start_ms = START_MS + STEP_MS * np.arange(n, dtype=np.int64)
    taken_ms = START_MS + 60_000 * np.arange(len(caves.temperature_c[cave]), dtype=np.int64)
    nothing = np.zeros(len(taken_ms), dtype=np.int64)
    return PlaceSituation(
        air=Air(start_ms, temperature, humidity),
        judged_from_ms=START_MS,
        temperature_band_c=_band(TARGET_C, HALF_BAND_C, n),
        humidity_band_pct=_band(TARGET_PCT, HALF_BAND_PCT, n),
        grace_ms=np.full(n, 2 * 3_600_000, dtype=np.int64),
        resting=np.zeros(n, dtype=bool),
        raw_temperature=Series(taken_ms, caves.temperature_c[cave], nothing, nothing, {0: "Cel"}),
    )


def hourly(minutes: Values) -> Values:
    """Means of whole hours, shape (..., hours)."""
    return np.asarray(minutes.reshape(*minutes.shape[:-1], -1, 60).mean(axis=-1))


def _column(kinds: tuple[Kind, ...], name: str) -> Values:
    return np.array([[getattr(kind, name)] for kind in kinds])


def _wander(rng: np.random.Generator, kinds: tuple[Kind, ...], name: str, minutes: int) -> Values:
    """A first-order process with the kind's spread and time constant, drawn each ten minutes and joined by lines."""
    sd, hours = _column(kinds, name), _column(kinds, "wander_h")
    keep = np.exp(-1 / (6 * hours))
    chance = rng.standard_normal((len(kinds), minutes // 10 + 2))
    level = np.empty_like(chance)
    level[:, 0] = chance[:, 0]
    for i in range(1, level.shape[1]):
        level[:, i : i + 1] = keep * level[:, i - 1 : i] + np.sqrt(1 - keep**2) * chance[:, i : i + 1]
    at = np.arange(minutes) / 10
    return sd * np.array([np.interp(at, np.arange(level.shape[1]), row) for row in level])


def _cycle(rng: np.random.Generator, caves: int, minutes: int) -> Values:
    """A compressor: cooling for a part of each cycle, whose length wanders; scaled to -1..1."""
    length = rng.uniform(24, 70, (caves, 1))
    pace = 1 + 0.15 * np.cumsum(rng.standard_normal((caves, minutes)), axis=1) / np.sqrt(minutes)
    phase = np.cumsum(pace / length, axis=1) % 1
    return np.asarray(np.where(phase < 0.35, 1 - 2 * phase / 0.35, 2 * (phase - 0.35) / 0.65 - 1))


def _doors(rng: np.random.Generator, caves: int, days: int) -> Values:
    """Up to three visits a day of two to ten minutes; the air comes back with a time constant of eight minutes."""
    door = np.zeros((caves, days * DAY_MIN))
    for cave in range(caves):
        for day in range(days):
            for _ in range(int(rng.integers(0, 4))):
                at = day * DAY_MIN + int(rng.integers(7 * 60, 21 * 60))
                stay = int(rng.integers(2, 11))
                door[cave, at : at + stay] = 1
                after = np.exp(-np.arange(1, 60) / 8)
                end = door[cave, at + stay : at + stay + 59]
                end[:] = np.maximum(end, after[: len(end)])
    return door


def _course(minutes: Values, u: float) -> Course:
    rows = minutes.reshape(-1, 10)
    n = len(rows)
    return Course(
        rows.mean(axis=1),
        rows.min(axis=1),
        rows.max(axis=1),
        np.ones(n),
        np.full(n, u),
        np.full(n, Origin.LEAD, np.int8),
    )


def _band(centre: float, half: float, n: int) -> Band:
    return Band(np.full(n, centre - half), np.full(n, centre + half))
