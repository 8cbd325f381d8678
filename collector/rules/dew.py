"""Dew is two things: wheels that sweat, and a ceiling or wall that drips; pure.

*Wheels may sweat*: a wheel follows the air slowly, so its temperature is a slow mean of the air's. When the dew point
of the air comes above it, water condenses on the rind. *A surface may drip*: a probe on a ceiling or wall is at or
below the dew point. A probe on the cooling plate is below it whenever the cooler runs, and means nothing: it is not a
surface of the cave, and the facts say `plate_like` when a probe looks like one.
"""

from functools import partial
from typing import Any

import numpy as np

from collector.air.model import Air
from collector.moist_air import dew_point_c
from collector.readings.model import Values
from collector.rules.against_limit import MEMORY_MS, Signal, judge_signal, rounded
from collector.rules.dew_margin import Margin, drip_margin, measured_air, sweat_margin
from collector.rules.hourly import hourly_mean
from collector.rules.model import PlaceRule, PlaceSituation, Verdict
from collector.rules.spells import HOUR_STEPS
from collector.rules.wheel_heat import USUAL_WHEEL_KG

GRACE_MS = 3_600_000  # our choice: the hourly mean has waited already; a film of an hour harms nobody
HYSTERESIS_K = 0.3  # our choice: the uncertainty of a fair probe's dew point (2 %, 0.2 K)
PLATE_K = 4.0  # our choice: a wall that far below the dew point would have dried the air long before


def judge_sweat(situation: PlaceSituation, carried: Verdict | None) -> list[Verdict]:
    """Spells in which wheels are colder than the dew point of the air.

    Args:
        situation: air with a run-in of `MEMORY_MS`; targets do not matter, a resting place has no wheels.
        carried: the spell open at `situation.judged_from_ms`, or None.
    Returns:
        Verdicts. Facts: since_ms, last, worst and mean margin [K], u of the last [K], sure (the worst lies below 0 by
        more than that), dose [K h], outside_h, unknown_h, dew_point_c, wheel_kg, ledger, and once over ended.
    """
    margin = sweat_margin(situation.air)
    verdicts = _judge_margin("wheels_may_sweat", situation, margin, carried)
    return [_with(verdict, {"wheel_kg": USUAL_WHEEL_KG}) for verdict in verdicts]


def judge_drip(situation: PlaceSituation, carried: Verdict | None) -> list[Verdict]:
    """Spells in which the surface with a probe is below the dew point.

    Args:
        situation, carried: as in `judge_sweat`.
    Returns:
        Verdicts, none without a surface probe. Facts as in `judge_sweat`, with plate_like instead of wheel_kg.
    """
    verdicts = _judge_margin("surface_may_drip", situation, drip_margin(situation.air), carried)
    return [_with(v, {"plate_like": (v.facts.get("worst") or 0.0) <= -PLATE_K}) for v in verdicts]


def _judge_margin(rule: str, situation: PlaceSituation, margin: Margin, carried: Verdict | None) -> list[Verdict]:
    n, air = len(situation.air), situation.air
    signal = Signal(
        value=hourly_mean(margin.k, np.minimum(air.temperature_c.known, air.humidity_pct.known)),
        limit=np.zeros(n),
        sign=-1,
        hysteresis=np.full(n, HYSTERESIS_K),
        released=situation.resting,
        excused=np.zeros(n, dtype=bool),
    )
    grace = np.full(n, GRACE_MS, dtype=np.int64)
    more = partial(_margin_facts, air, margin)
    verdicts = judge_signal(rule, air.start_ms, signal, grace, situation.judged_from_ms, carried, more)
    return [_with(verdict, {"sure": _sure(verdict.facts)}) for verdict in verdicts]


def _margin_facts(air: Air, margin: Margin, last: int) -> dict[str, Any]:
    hour = slice(max(0, last - HOUR_STEPS + 1), last + 1)
    temperature, humidity = (values[hour] for values in measured_air(air))
    return {"unit": "K", "u": _mean(margin.u_k[hour]), "dew_point_c": _mean(dew_point_c(temperature, humidity))}


def _mean(values: Values) -> float | None:
    known = values[~np.isnan(values)]
    return rounded(float(known.mean())) if len(known) else None


def _sure(facts: dict[str, Any]) -> bool:
    worst, u = facts.get("worst"), facts.get("u")
    return worst is not None and u is not None and worst < -u


def _with(verdict: Verdict, facts: dict[str, Any]) -> Verdict:
    return Verdict(verdict.rule, verdict.opened_ms, verdict.cleared_ms, verdict.facts | facts)


DEW_RULES = (
    PlaceRule("wheels_may_sweat", "wheels may sweat", "warn", MEMORY_MS, judge_sweat),
    PlaceRule("surface_may_drip", "ceiling or wall may drip", "warn", MEMORY_MS, judge_drip),
)
