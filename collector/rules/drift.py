"""Drift: air that has left its target for longer than the grace; pure.

What is judged is the time-weighted mean of the hour before each step, so that the swing of a compressor is no drift.
Four rules, one for each side; a place that rests has none.
"""

from dataclasses import dataclass
from functools import partial
from typing import Any

import numpy as np

from collector.air.model import Course
from collector.readings.model import Values
from collector.rules.against_limit import MEMORY_MS, Signal, judge_signal, rounded
from collector.rules.hourly import hourly_mean, measured
from collector.rules.model import Band, PlaceRule, PlaceSituation, Severity, Verdict
from collector.rules.spells import HOUR_STEPS
from collector.rules.targets import limit_held, settling

HYSTERESIS_SHARE = 0.25  # of the band's width at most, so that a narrow band has an inside at all: our choice
HEADING_STEPS = 3 * HOUR_STEPS  # our choice: three hourly means apart, noise of a single one no longer turns the arrow


@dataclass(frozen=True, slots=True)
class Side:
    """One side of one quantity's band.

    Args:
        rule, word, severity: as in `PlaceRule`.
        quantity, unit: what is judged; the unit stands in the facts.
        sign: 1 when above the band is outside, -1 when below.
        hysteresis: how far inside ends a spell, at most.
        steady_per_h: a change slower than this is called steady.
    """

    rule: str
    word: str
    severity: Severity
    quantity: str
    unit: str
    sign: int
    hysteresis: float
    steady_per_h: float


# Hysteresis and steadiness are our choice: about twice the repeatability of the probes in use (0.1 K, 0.5 %).
SIDES = (
    Side("too_warm", "too warm", "warn", "temperature", "Cel", 1, 0.3, 0.1),
    Side("too_cold", "too cold", "warn", "temperature", "Cel", -1, 0.3, 0.1),
    Side("too_damp", "too damp", "warn", "humidity", "%RH", 1, 1.0, 0.3),
    Side("too_dry", "too dry", "warn", "humidity", "%RH", -1, 1.0, 0.3),
)


def drift_signal(side: Side, situation: PlaceSituation) -> Signal:
    """One side's judged value against its limit.

    Args:
        side: a row of `SIDES`.
        situation: the place's air and targets.
    Returns:
        Signal [degC or %]; unknown where less than half an hour was measured in the place itself.
    """
    course, band = course_and_band(side.quantity, situation)
    limit = limit_held(band, side.sign)
    return Signal(
        value=hourly_mean(measured(course), course.known),
        limit=limit,
        sign=side.sign,
        hysteresis=_hysteresis(side, band),
        released=situation.resting,
        excused=settling(limit, situation.resting),
    )


def course_and_band(quantity: str, situation: PlaceSituation) -> tuple[Course, Band]:
    """The course and the targets of `temperature` or `humidity`."""
    if quantity == "temperature":
        return situation.air.temperature_c, situation.temperature_band_c
    return situation.air.humidity_pct, situation.humidity_band_pct


def judge(side: Side, situation: PlaceSituation, carried: Verdict | None) -> list[Verdict]:
    """Spells of air beyond one side of its band.

    Args:
        side: a row of `SIDES`.
        situation: air and targets, with a run-in of `MEMORY_MS`.
        carried: the spell open at `situation.judged_from_ms`, or None.
    Returns:
        Verdicts. Facts: quantity, unit, side (high, low), since_ms, limit, last, worst and mean [unit], dose [unit
        times h], outside_h, unknown_h, per_h [unit per h] with heading (away, back, steady, unknown), ledger, and
        once over ended (inside, lost, released).
    Source: band, grace, hysteresis: our choice, see the module's text and `collector.rules.spells`.
    """
    signal = drift_signal(side, situation)
    return judge_signal(
        side.rule,
        situation.air.start_ms,
        signal,
        situation.grace_ms,
        situation.judged_from_ms,
        carried,
        partial(_side_facts, side, signal.value),
    )


def _hysteresis(side: Side, band: Band) -> Values:
    width = np.nan_to_num(band.high - band.low, nan=np.inf)
    return np.minimum(side.hysteresis, HYSTERESIS_SHARE * width)


def _side_facts(side: Side, value: Values, last: int) -> dict[str, Any]:
    per_h = _per_h(value, last)
    return {
        "quantity": side.quantity,
        "unit": side.unit,
        "side": "high" if side.sign > 0 else "low",
        "per_h": None if per_h is None else rounded(per_h),
        "heading": _heading(side, per_h),
    }


def _per_h(value: Values, last: int) -> float | None:
    """Change of the judged value over the last three hours, None where it was not known then."""
    if last < HEADING_STEPS or np.isnan(value[last - HEADING_STEPS]):
        return None
    return float(value[last] - value[last - HEADING_STEPS]) * HOUR_STEPS / HEADING_STEPS


def _heading(side: Side, per_h: float | None) -> str:
    if per_h is None:
        return "unknown"
    if abs(per_h) < side.steady_per_h:
        return "steady"
    return "away" if per_h * side.sign > 0 else "back"


DRIFT_RULES = tuple(PlaceRule(side.rule, side.word, side.severity, MEMORY_MS, partial(judge, side)) for side in SIDES)
