"""What a rind was exposed to, hour by hour: too damp, too dry, too warm, sweat, drip, falls, swing, deficit; pure.

Everything is derived from the ten-minute steps first and added up or averaged afterwards. Hours hold the time that
readings speak for, so that a probe that speaks every ten seconds and one that speaks on change say the same of the
same air.
"""

from dataclasses import dataclass
from math import sqrt
from typing import Literal

import numpy as np

from collector.air.model import STEP_MS
from collector.moist_air import dew_point_c, vapour_deficit_pa
from collector.readings.model import Millis, Values
from collector.rules.dew_margin import slow_mean
from collector.rules.hourly import hourly_mean, trailing_max
from collector.rules.wheel_heat import USUAL_WHEEL_KG, thermal_lag_h

HOUR_STEPS = 6
HOUR_MS = HOUR_STEPS * STEP_MS
FALL_H = 6  # our choice: what falls within a quarter of a day is a door or a fault, what takes longer is weather
SWING_STEPS = 18  # our choice: three hours hold several cycles of a cooler and little of the day
SWING_KNOWN_STEPS = 3  # our choice: of less than half an hour of them no swing is told
WAVE = 2 * sqrt(2)  # height of an even wave, from trough to crest, by its standard deviation


@dataclass(frozen=True, slots=True)
class Exposure:
    """One thing that air does to a rind.

    Args:
        name: as it stands in answers. word: what a person reads. unit: "h", "points" or "Pa".
        over: how a stretch is made from its hours: "sum" (scaled to the whole stretch), "largest" or "mean".
        of: what it comes from: "damp", "dry", "warm", for the words and for what a kind of note is matched to.
    """

    name: str
    word: str
    unit: str
    over: Literal["sum", "largest", "mean"]
    of: Literal["damp", "dry", "warm"]


EXPOSURES: tuple[Exposure, ...] = (
    Exposure("too_damp_h", "too damp", "h", "sum", "damp"),
    Exposure("too_dry_h", "too dry", "h", "sum", "dry"),
    Exposure("too_warm_h", "too warm", "h", "sum", "warm"),
    Exposure("sweat_h", "wheels may have sweated", "h", "sum", "damp"),
    Exposure("drip_h", "ceiling or wall may have dripped", "h", "sum", "damp"),
    Exposure("largest_fall_pct", "largest fall of humidity within six hours", "points", "largest", "dry"),
    Exposure("swing_pct", "swing of humidity within three hours", "points", "mean", "dry"),
    Exposure("mean_deficit_pa", "thirst of the air (vapour pressure deficit)", "Pa", "mean", "dry"),
)
BY_NAME = {row.name: row for row in EXPOSURES}


@dataclass(frozen=True, slots=True)
class Limits:
    """What is too damp, too dry and too warm for a wheel's style [%, %, degC]; None where its rind does not feel it."""

    dampest_pct: float | None
    driest_pct: float | None
    warmest_c: float | None


@dataclass(frozen=True, slots=True)
class Hours:
    """The exposures of a place, hour by hour.

    Args:
        start_ms: start of each hour, every hour without holes, shape (h,).
        known_h: share of each hour that readings speak for, 0..1, shape (h,).
        by_name: for each exposure, shape (h,): hours within the hour for those that are summed, else the level; NaN
            where nothing is known.
    """

    start_ms: Millis
    known_h: Values
    by_name: dict[str, Values]

    def __len__(self) -> int:
        return len(self.start_ms)

    def cut(self, first: int, after: int) -> "Hours":
        """Those hours alone."""
        rows = slice(first, after)
        return Hours(self.start_ms[rows], self.known_h[rows], {n: v[rows] for n, v in self.by_name.items()})


def hours_of(
    grid_ms: Millis,
    temperature_c: Values,
    humidity_pct: Values,
    known: Values,
    limits: Limits,
    surface_c: Values | None = None,
    wheel_kg: float = USUAL_WHEEL_KG,
    within_pct: Values | None = None,
) -> Hours:
    """Exposures hour by hour from ten-minute air.

    Args:
        grid_ms: start of each ten-minute step, every STEP_MS without holes, shape (n,) [ms since 1970 UTC].
        temperature_c, humidity_pct: time-weighted means of each step, shape (n,) [degC, -30 to 60; %, 1 to 100]; NaN
            where nothing is known.
        known: share of each step that readings speak for, shape (n,), 0..1.
        limits: what is too damp, too dry and too warm.
        surface_c: of a ceiling or wall with a probe on it, shape (n,) [degC]; None where there is none.
        wheel_kg: mass of the wheel, which decides how slowly it follows the air [kg].
        within_pct: time-weighted standard deviation of the humidity within each step, shape (n,) [%]; None and NaN
            count as no movement within the step.
    Returns:
        `Hours`. An exposure that cannot be had (no limit, no surface) is left out.
    Raises:
        ValueError: shapes that differ.
    Source: our choice of exposures (design, Look-back). Too damp, dry and warm go by the mean of the hour before, since
        a cooler swings the humidity by ten points every half hour and no rind follows that; the rest by the step.
    """
    shapes = {a.shape for a in (grid_ms, temperature_c, humidity_pct, known)}
    if len(shapes) != 1:
        raise ValueError(f"grid_ms, temperature_c, humidity_pct and known must have one shape, got {sorted(shapes)}")
    gone = np.isnan(temperature_c) | np.isnan(humidity_pct)
    share = np.where(gone, 0.0, known)
    steps = _steps(temperature_c, humidity_pct, share, limits, surface_c, wheel_kg)
    steps["swing_pct"] = _swing(humidity_pct, within_pct, share)
    return _by_hour(grid_ms, share, steps)


def _steps(
    temperature_c: Values,
    humidity_pct: Values,
    share: Values,
    limits: Limits,
    surface_c: Values | None,
    wheel_kg: float,
) -> dict[str, Values]:
    """Exposures step by step: of summed ones the share of the step, of others the level."""
    slow_pct, slow_c = hourly_mean(humidity_pct, share), hourly_mean(temperature_c, share)
    dew = dew_point_c(temperature_c, humidity_pct)
    wheel = slow_mean(temperature_c, share, thermal_lag_h(wheel_kg))
    found = {"sweat_h": _below(wheel - dew, 0.0)}
    if limits.dampest_pct is not None:
        found["too_damp_h"] = _below(-slow_pct, -limits.dampest_pct)
    if limits.driest_pct is not None:
        found["too_dry_h"] = _below(slow_pct, limits.driest_pct)
    if limits.warmest_c is not None:
        found["too_warm_h"] = _below(-slow_c, -limits.warmest_c)
    if surface_c is not None:
        found["drip_h"] = _below(surface_c - dew, 0.0)
    found["largest_fall_pct"] = trailing_max(slow_pct, FALL_H * HOUR_STEPS) - slow_pct
    found["mean_deficit_pa"] = vapour_deficit_pa(temperature_c, humidity_pct)
    return found


def _swing(humidity_pct: Values, within_pct: Values | None, share: Values) -> Values:
    """Height of the even wave that would vary as the humidity did over the three hours before.

    Largest less smallest mean of a step would hang on where a cooler's cycle meets the steps, and, of a probe that
    speaks a few times in a cycle, on when it spoke: by 8 % of the same air. What varies within steps counts too.
    """
    known = ~np.isnan(humidity_pct) & (share > 0)
    weight = np.where(known, share, 0.0)
    about = np.where(known, humidity_pct - (humidity_pct[known].mean() if known.any() else 0.0), 0.0)
    within = np.zeros(len(about)) if within_pct is None else np.nan_to_num(within_pct)
    time, first, second = (_over_hours(weight * part) for part in (np.ones(len(about)), about, about**2 + within**2))
    variance = np.full(len(about), np.nan)
    mean = np.divide(first, time, out=np.zeros(len(about)), where=time > 0)
    np.divide(second, time, out=variance, where=time >= SWING_KNOWN_STEPS)
    # Rounded, so that the digits that sums lose make no order among hours in which nothing moved.
    return np.asarray(np.round(WAVE * np.sqrt(np.maximum(variance - mean**2, 0.0)), 3))


def _over_hours(value: Values) -> Values:
    """Sum of each step and those before it that swing is told of."""
    total = np.concatenate([np.zeros(SWING_STEPS), np.cumsum(value)])
    return np.asarray(total[SWING_STEPS:] - total[:-SWING_STEPS])


def _below(value: Values, limit: float) -> Values:
    """Share of each step below a limit, the course between the middles of the steps taken as straight; NaN stays NaN.

    Counting whole steps instead would be off by a step for every spell, by 5 % in one of three hours.
    """
    above = value - limit
    padded = np.concatenate([above[:1], above, above[-1:]])
    shares = []
    for neighbour in (padded[:-2], padded[2:]):
        edge = np.where(np.isnan(neighbour), above, (above + neighbour) / 2)
        inside, whole = np.maximum(-above, 0.0) + np.maximum(-edge, 0.0), np.abs(above) + np.abs(edge)
        share = (above < 0).astype(float)
        np.divide(inside, whole, out=share, where=whole > 0)
        shares.append(share)
    return np.where(np.isnan(above), np.nan, (shares[0] + shares[1]) / 2)


def _by_hour(grid_ms: Millis, share: Values, steps: dict[str, Values]) -> Hours:
    """Whole hours of the clock; a piece of an hour at either end is left out."""
    first = int(-(-grid_ms[0] // HOUR_MS) * HOUR_MS - grid_ms[0]) // STEP_MS if len(grid_ms) else 0
    count = max(0, (len(grid_ms) - first) // HOUR_STEPS)
    rows = slice(first, first + count * HOUR_STEPS)
    weight = share[rows].reshape(count, HOUR_STEPS)
    found = {}
    for name, value in steps.items():
        level = value[rows].reshape(count, HOUR_STEPS)
        found[name] = _largest(level) if BY_NAME[name].over == "largest" else _weighted(level, weight)
    return Hours(grid_ms[rows][::HOUR_STEPS], weight.sum(axis=1) / HOUR_STEPS, found)


def _weighted(level: Values, weight: Values) -> Values:
    """Mean of each row over the time known; of a share of time that is the share itself."""
    time = np.where(np.isnan(level), 0.0, weight)
    total, known = (time * np.nan_to_num(level)).sum(axis=1), time.sum(axis=1)
    mean = np.full(len(level), np.nan)
    np.divide(total, known, out=mean, where=known > 0)
    return mean


def _largest(level: Values) -> Values:
    known = ~np.isnan(level)
    return np.where(known.any(axis=1), np.where(known, level, -np.inf).max(axis=1), np.nan)
