"""The rule that says that air will leave its band; pure. What one hour says is in `outlook`."""

from typing import Any

import numpy as np

from collector.air.model import STEP_MS
from collector.readings.model import Millis
from collector.rules.drift import SIDES
from collector.rules.hourly import trailing_max
from collector.rules.model import PlaceRule, PlaceSituation, Verdict
from collector.rules.outlook import LOOKED_BACK_H, SETTLE_H, Outlook, WatchedSide, watched_side
from collector.rules.spells import (
    HOUR_STEPS,
    LONG_UNKNOWN_STEPS,
    LOST_STEPS,
    Flags,
    Indices,
    Spell,
    Steps,
    find_spells,
)
from collector.rules.trend import HOUR_MS

NAME = "leaving"
GRACE_STEPS = HOUR_STEPS + 1  # our choice: two hourly looks must agree
STICKY_H = 6  # our choice: it is over when six looks on end say so, else it would come and go
# How far back the state machine and the latest look can reach.
SEEN_STEPS = LOST_STEPS + LONG_UNKNOWN_STEPS + STICKY_H * HOUR_STEPS
MEMORY_MS = (LOOKED_BACK_H + SETTLE_H + 2) * HOUR_MS + SEEN_STEPS * STEP_MS

Looks = dict[int, list[Outlook]]  # by the step from which a look holds


def judge(situation: PlaceSituation, carried: Verdict | None) -> list[Verdict]:
    """Spells in which the air is on its way out of its band.

    Args:
        situation: air and targets, with a run-in of `MEMORY_MS`.
        carried: the spell open at `situation.judged_from_ms`, or None.
    Returns:
        Verdicts. Facts of the latest look that saw it: quantity, unit, side (high, low), limit and level [unit],
        hours_to_limit with hours_least and hours_most (None: not within four days), per_day [unit per day], window_h,
        since_ms, and once over ended (inside, left: it drifts now, lost, released).
    Source: `collector.theil_sen` for slope and interval; the rest is our choice, tuned by tests/bench/bench_drift.py.
    """
    start_ms = situation.air.start_ms
    first = int(np.searchsorted(start_ms, situation.judged_from_ms))
    if first == len(start_ms):
        return [] if carried is None else [carried]
    sides = [watched_side(side, situation) for side in SIDES]
    looks = _looks(sides, max(0, first - SEEN_STEPS))
    steps = _steps(looks, sides, situation)
    grace_ms = np.full(len(start_ms), GRACE_STEPS * STEP_MS, dtype=np.int64)
    return [
        _verdict(spell, looks, sides, situation, carried if spell.opened is None else None)
        for spell in find_spells(steps, grace_ms, first, carried is not None)
    ]


def _looks(sides: list[WatchedSide], from_step: int) -> Looks:
    """What each hour says whose last step is at or after `from_step`; hours that see nothing have no entry."""
    looks: Looks = {}
    for watched in sides:
        for hour in np.flatnonzero(np.logical_or.reduce(watched.further_out)):
            if watched.last_step[hour] >= from_step:
                looks.setdefault(int(watched.last_step[hour]), []).extend(watched.looks(int(hour)))
    return looks


def _steps(looks: Looks, sides: list[WatchedSide], situation: PlaceSituation) -> Steps:
    last_step = sides[0].last_step
    leaving, going = np.zeros(len(last_step), dtype=bool), np.zeros(len(last_step), dtype=bool)
    for i, step in enumerate(last_step):
        still = [look for look in looks.get(int(step), ()) if look.going]
        leaving[i], going[i] = any(look.leaving for look in still), bool(still)
    outside_now = np.logical_or.reduce([(w.excess > 0) & ~w.drifting for w in sides])
    drifting = np.logical_or.reduce([w.drifting for w in sides])
    going |= (trailing_max((leaving | going).astype(float), STICKY_H) > 0) & ~drifting
    unknown = np.logical_or.reduce([w.unknown for w in sides]) & ~leaving
    inside = ~(leaving | going | outside_now | unknown)
    held = _held(len(situation.air), last_step)
    asked = (held >= 0) & ~situation.resting
    return Steps(
        outside=_on_steps(leaving, held) & asked,
        inside=_on_steps(inside, held) | ~asked,
        unknown=_on_steps(unknown, held) & asked,
    )


def _held(n: int, last_step: Indices) -> Indices:
    """For each step the number of the latest whole hour, -1 before the first."""
    ends = np.zeros(n, dtype=np.int64)
    ends[last_step] = 1
    return np.asarray(np.cumsum(ends) - 1, dtype=np.int64)


def _on_steps(hourly: Flags, held: Indices) -> Flags:
    if len(hourly) == 0:
        return np.zeros(len(held), dtype=bool)
    return np.asarray(hourly[np.maximum(held, 0)] & (held >= 0))


def _verdict(
    spell: Spell, looks: Looks, sides: list[WatchedSide], situation: PlaceSituation, carried: Verdict | None
) -> Verdict:
    start_ms = situation.air.start_ms
    end = len(start_ms) if spell.cleared is None else spell.cleared
    opened_ms = int(start_ms[spell.opened or 0]) if carried is None else carried.opened_ms
    since: dict[str, Any] = {"since_ms": int(start_ms[spell.since or 0])}
    facts = since if carried is None else dict(carried.facts)
    facts.pop("ended", None)
    seen = _latest_look(looks, opened_ms, start_ms, end)
    facts |= {} if seen is None else seen.facts()
    if spell.cleared is None:
        return Verdict(NAME, opened_ms, None, facts)
    facts["ended"] = "lost" if spell.lost else _why_ended(sides, situation, spell.cleared)
    return Verdict(NAME, opened_ms, int(start_ms[spell.cleared]), facts)


def _latest_look(looks: Looks, opened_ms: int, start_ms: Millis, end: int) -> Outlook | None:
    """The most pressing outlook of the last hour of a spell that saw the limit coming."""
    for step in sorted(looks, reverse=True):
        going = [look for look in looks[step] if look.going]
        if going and step < end and start_ms[step] + HOUR_MS > opened_ms:
            return min(going, key=lambda look: (not look.leaving, look.hours))
    return None


def _why_ended(sides: list[WatchedSide], situation: PlaceSituation, cleared: int) -> str:
    if situation.resting[cleared]:
        return "released"
    hour = int(_held(len(situation.air), sides[0].last_step)[cleared])
    if any(watched.drifting[hour] for watched in sides):
        return "left"
    return "released" if all(np.isnan(watched.limit[hour]) for watched in sides) else "inside"


LEAVING = PlaceRule(NAME, "on its way out", "note", MEMORY_MS, judge)
