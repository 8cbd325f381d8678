"""What goes wrong at the demo's dairy, planted on purpose so that rules, pages and tests have something to find.

Plans are dated in whole days back from the day of the anchor (the demo's first start); negative days lie ahead of
it, so that a demo left running goes on having a life.
"""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from collector.demo.noise import FloatArray, TimeArray
from collector.demo.weather import DAY_MS, HOUR_MS


class IncidentKind(StrEnum):
    """What can go wrong."""

    HUMIDIFIER_DRY = "humidifier dry"
    DOOR_AJAR = "door ajar"
    COOLER_FAILING = "cooler failing"
    PROBE_STUCK = "probe stuck"
    POWER_CUT = "power cut"
    DAMP_SPELL = "damp spell"


@dataclass(frozen=True, slots=True)
class IncidentPlan:
    """An incident before it has a date.

    Attributes:
        place: the room it happens in; a power cut takes all of them and names the whole dairy.
        days_back: whole UTC days from the anchor's day back to the day it begins; negative lies ahead.
        hour_utc: when on that day it begins.
        hours: how long it lasts.
        account: one line in the keeper's words.
        strength: how much is lost or let in at its worst, 0 to 1.
        ramp_h: how long it takes to get as bad as that.
        probe: which probe it strikes, for one that strikes a probe.
    """

    kind: IncidentKind
    place: str
    days_back: int
    hour_utc: float
    hours: float
    account: str
    strength: float = 1.0
    ramp_h: float = 0.0
    probe: str | None = None


@dataclass(frozen=True, slots=True)
class Incident:
    """A dated incident; it holds from `from_ms` up to, not at, `to_ms` [ms since 1970, UTC]."""

    kind: IncidentKind
    place: str
    from_ms: int
    to_ms: int
    account: str
    strength: float = 1.0
    ramp_ms: int = 0
    probe: str | None = None


def dated(plan: IncidentPlan, anchor_ms: int) -> Incident:
    """Give a plan its date.

    Args:
        plan: the plan.
        anchor_ms: the demo's first start [ms since 1970, UTC]; only its UTC day counts.
    Returns:
        The incident.
    """
    from_ms = (anchor_ms // DAY_MS - plan.days_back) * DAY_MS + round(plan.hour_utc * HOUR_MS)
    return Incident(
        kind=plan.kind,
        place=plan.place,
        from_ms=from_ms,
        to_ms=from_ms + round(plan.hours * HOUR_MS),
        account=plan.account,
        strength=plan.strength,
        ramp_ms=round(plan.ramp_h * HOUR_MS),
        probe=plan.probe,
    )


def effect(incident: Incident, at_ms: TimeArray) -> FloatArray:
    """How strongly an incident is felt.

    Args:
        incident: the incident.
        at_ms: times [ms since 1970, UTC].
    Returns:
        0 outside it, up to its strength inside, the same shape.
    """
    inside = (at_ms >= incident.from_ms) & (at_ms < incident.to_ms)
    if not incident.ramp_ms:
        return np.where(inside, incident.strength, 0.0)
    grown = np.minimum((at_ms - incident.from_ms) / incident.ramp_ms, 1.0)
    return np.where(inside, incident.strength * grown, 0.0)


def worst(incidents: tuple[Incident, ...], kind: IncidentKind, place: str | None, at_ms: TimeArray) -> FloatArray:
    """How strongly the worst incident of a kind is felt in a place.

    Args:
        incidents: all of them.
        kind: which kind counts.
        place: in which place; None takes those of every place.
        at_ms: times [ms since 1970, UTC], in order.
    Returns:
        0 to 1, the same shape.
    """
    felt = np.zeros(at_ms.shape)
    for incident in incidents:
        here = place is None or incident.place == place
        if incident.kind is kind and here and touches(incident, int(at_ms[0]), int(at_ms[-1]) + 1):
            felt = np.maximum(felt, effect(incident, at_ms))
    return felt


def touches(incident: Incident, from_ms: int, to_ms: int) -> bool:
    """Whether an incident and a span [from, to) have a moment in common."""
    return incident.from_ms < to_ms and from_ms < incident.to_ms
