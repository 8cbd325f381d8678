"""Margins above the dew point: of wheels, which follow the air slowly, and of a ceiling or wall with a probe; pure.

The dew point is derived from each ten-minute step; whoever averages does so afterwards.
"""

from dataclasses import dataclass

import numpy as np

from collector.air.model import Air
from collector.dew_uncertainty import margin_uncertainty_k
from collector.limits import within
from collector.moist_air import dew_point_c
from collector.readings.model import Values
from collector.rules.hourly import DECIMALS, measured
from collector.rules.spells import HOUR_STEPS
from collector.rules.wheel_heat import USUAL_WHEEL_KG, thermal_lag_h

LAGS_SEEN = 5  # of the slow mean's time constants; what came before weighs 0.7 %
LEAST_WEIGHT = 0.5  # our choice: at least half of the slow mean's weight must be known
LAG_SPREAD = 1.5  # wheels of a third to three times the usual mass have time constants within this factor
DRIEST_PCT = 1.0  # our choice: no cave is as dry; a probe that says so is broken, and its dew point would be noise


@dataclass(frozen=True, slots=True)
class Margin:
    """A temperature less the dew point on each step [K], with its standard uncertainty; NaN where unknown."""

    k: Values
    u_k: Values


def sweat_margin(air: Air, wheel_kg: float = USUAL_WHEEL_KG, u_from: int = 0) -> Margin:
    """By how much wheels are warmer than the dew point of the air around them.

    Args:
        air: air of a place on the ten-minute grid.
        wheel_kg: mass of the wheels that stand there [kg], 0.01 to 200.
        u_from: the first step whose uncertainty is asked for; NaN before it. It takes longer than all the rest.
    Returns:
        Margin [K], shape (n,); below 0 they sweat. Its uncertainty has that of the humidity, what is left of the
        temperature's (one probe gives both, so an error of it moves both alike), and what wheels of another size
        would make of the same air.
    Source: our choice of a slow mean with the time constant of `thermal_lag_h`; dew point as `dew_point_c`.
    """
    temperature, humidity = measured_air(air)
    lag_h = thermal_lag_h(wheel_kg)
    wheel = slow_mean(temperature, air.temperature_c.known, lag_h)
    other = [slow_mean(temperature, air.temperature_c.known, lag_h * f) for f in (1 / LAG_SPREAD, LAG_SPREAD)]
    asked, u_k = slice(u_from, None), np.full(len(air), np.nan)
    u_k[asked] = margin_uncertainty_k(
        temperature[asked], humidity[asked], air.temperature_c.uncertainty[asked], air.humidity_pct.uncertainty[asked],
        surface_u_k=None,
    )  # fmt: skip
    return Margin(wheel - dew_point_c(temperature, humidity), np.hypot(u_k, np.abs(other[1] - other[0]) / 2))


def drip_margin(air: Air) -> Margin:
    """By how much the surface with a probe is warmer than the dew point of the air.

    Args:
        air: air of a place on the ten-minute grid.
    Returns:
        Margin [K], shape (n,); at or below 0 water condenses there. All NaN without a surface probe.
    Source: `collector.dew_uncertainty.margin_uncertainty_k`, two elements.
    """
    nothing = np.full(len(air), np.nan)
    if air.surface_c is None:
        return Margin(nothing, nothing)
    temperature, humidity = measured_air(air)
    surface = measured(air.surface_c)
    u_k = margin_uncertainty_k(
        temperature,
        humidity,
        air.temperature_c.uncertainty,
        air.humidity_pct.uncertainty,
        surface_u_k=air.surface_c.uncertainty,
    )
    return Margin(surface - dew_point_c(temperature, humidity), u_k)


def hours_below(margin: Margin, known: Values) -> Values:
    """Hours of dew on each step, for adding up exposures.

    Args:
        margin: from `sweat_margin` or `drip_margin`. known: share of each step that is known, 0..1.
    Returns:
        Hours [h], shape (n,): the known part of the step where the margin is below 0, else 0; NaN where the margin
        is unknown.
    """
    return np.where(np.isnan(margin.k), np.nan, np.where(margin.k < 0, known / HOUR_STEPS, 0.0))


def slow_mean(value: Values, known: Values, lag_h: float) -> Values:
    """What follows a value with a time constant: its exponentially weighted mean over the past.

    Args:
        value: on each ten-minute step, shape (n,), NaN where unknown. known: share of the step known, 0..1.
        lag_h: time constant [h], 0.1 to 48.
    Returns:
        Shape (n,), same unit, rounded to 1e-9; NaN where less than half of the weight is known. It looks back over
        five time constants, so what it says does not depend on where the record begins before that.
    Raises:
        ValueError: a time constant outside its range.
    """
    steps = float(within("lag_h", lag_h, 0.1, 48, "h")) * HOUR_STEPS
    weight = np.exp(-np.arange(int(np.ceil(LAGS_SEEN * steps))) / steps)
    share = np.where(np.isnan(value), 0.0, known)
    level = np.where(np.isnan(value), 0.0, value)
    n = len(value)
    if n == 0:
        return np.empty(0)
    total, seen = np.convolve(share * level, weight)[:n], np.convolve(share, weight)[:n]
    mean = np.full(n, np.nan)
    np.divide(total, seen, out=mean, where=seen >= LEAST_WEIGHT * weight.sum())
    return np.asarray(np.round(mean, DECIMALS))


def measured_air(air: Air) -> tuple[Values, Values]:
    """Temperature [degC] and humidity [%] of the steps in which both were measured in the place itself, else NaN."""
    temperature, humidity = measured(air.temperature_c), measured(air.humidity_pct)
    known = ~np.isnan(temperature) & (humidity >= DRIEST_PCT)
    return np.where(known, temperature, np.nan), np.where(known, humidity, np.nan)
