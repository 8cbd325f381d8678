"""A cooler that has changed: it works more, longer or shorter at a time, swings more or less, or stopped; pure.

Once a day, at midnight UTC, the last three days are held against the three weeks before them. Where there is a probe
outside, what the weather does to the cooler is taken off; without one only larger changes count. A cooler that dies
slowly works more and longer at a time, and in the end the mean creeps up. Less work alone is the winter. Days with a
rest or a change of target are left out, and days before it are not compared with days after it.

While a spell lasts, the days are held against what was usual when it opened.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np

from collector.readings.model import Values
from collector.rules.against_limit import rounded
from collector.rules.cooler_days import DAY_MS, CoolerDays, Usual, cooler_days, usual
from collector.rules.model import PlaceRule, PlaceSituation, Verdict
from collector.rules.spells import Indices

NAME = "cooler_changed"
RECENT_DAYS = 3
REFERENCE_DAYS = 21
LEAST_RECENT, LEAST_REFERENCE = 2, 7
MEMORY_MS = (RECENT_DAYS + REFERENCE_DAYS + 2) * DAY_MS
LONGEST_SPELL_MS = 28 * DAY_MS  # our choice: after four weeks it is what the cooler does now
LOST_DAYS = 7  # our choice: a week without a usable day
SPREADS = 4.0  # our choice: so many spreads from the usual, which day to day hardly happens
BACK = 0.5  # a spell ends when all that was changed is less than half as far away as it had to be
TINY = 1e-9  # so that a swing of nothing has a logarithm
LEAST_USUAL_CYCLES = 6.0  # a day: our choice; fewer are the weather, or a box that follows its fridge
STOPPED_SHARE = 0.2  # of the usual number of cycles: our choice


@dataclass(frozen=True, slots=True)
class Measure:
    """One measure of the cooler, what more and less of it are called ("" is nothing to say), and how much counts.

    `ratio` compares by factors: its sizes are logarithms.
    """

    name: str
    more: str
    less: str
    least: float
    least_without_weather: float
    least_spread: float
    ratio: bool = False

    def of(self, days: CoolerDays) -> Values:
        values: Values = getattr(days, self.name)
        return np.asarray(np.log(np.maximum(values, TINY))) if self.ratio else values

    def shown(self, value: float) -> float:
        return rounded(np.exp(value) if self.ratio else value)


# Sizes are our choice: what somebody would notice who stood beside the cooler for an hour. 0.4 is a factor of 1.5.
DUTY = Measure("duty", "works_more", "", 0.12, 0.2, 0.02)
LENGTH = Measure("length_min", "longer", "shorter", 0.4, 0.6, 0.05, ratio=True)
SWING = Measure("swing_k", "swings_more", "swings_less", 0.4, 0.5, 0.05, ratio=True)
MEAN = Measure("mean_c", "", "", 0.7, 1.0, 0.1)
CYCLES = Measure("cycles", "", "", 0.0, 0.0, 0.5)
MEASURES = (DUTY, LENGTH, SWING, MEAN, CYCLES)


@dataclass(frozen=True, slots=True)
class Change:
    """A measure over the recent days against what is usual, and how far it must be away to count."""

    now: float
    away: float
    nearest: float
    needed: float
    usual: Usual


def judge(situation: PlaceSituation, carried: Verdict | None) -> list[Verdict]:
    """Spells in which the cooler does not do what it did in the weeks before.

    Args:
        situation: air, targets and raw temperature, with a run-in of `MEMORY_MS`.
        carried: the spell open at `situation.judged_from_ms`, or None.
    Returns:
        Verdicts. Facts: what (works_more, longer, shorter, swings_more, swings_less, stopped), since_ms, usual and now
        (cycles a day, length_min, duty, swing_k, mean_c), needed, and once over ended (inside, lost, released, usual).
    Source: our choice, see the module's text.
    """
    start_ms = situation.air.start_ms
    if len(start_ms) == 0 or situation.raw_temperature is None:
        return [] if carried is None else [carried]
    first_day = -(-situation.judged_from_ms // DAY_MS)
    last_day = int(start_ms[-1]) // DAY_MS
    days = cooler_days(situation, first_day - RECENT_DAYS - REFERENCE_DAYS, last_day) if last_day >= first_day else None
    done: list[Verdict] = [] if carried is None else [carried]
    for day in range(first_day, last_day + 1):
        if days is not None:
            _take_day(done, days, day)
    return done


def _take_day(done: list[Verdict], days: CoolerDays, day: int) -> None:
    """One look at midnight before a day: opens, goes on with, or ends a spell."""
    current = done[-1] if done and done[-1].cleared_ms is None else None
    recent = _recent(days, day)
    if current is not None:
        done[-1] = _gone_on(current, days, recent, day)
    elif len(recent) >= LEAST_RECENT:
        opened = _opened(days, recent, day)
        done += [] if opened is None else [opened]


def _recent(days: CoolerDays, day: int) -> Indices:
    """Usable days among the last three, of the era of the latest."""
    index = np.flatnonzero((days.day >= day - RECENT_DAYS) & (days.day < day) & days.usable)
    return index[days.era[index] == days.era[index[-1]]] if len(index) else index


def _opened(days: CoolerDays, recent: Indices, day: int) -> Verdict | None:
    era = days.era[recent[-1]]
    inside = (days.day < day - RECENT_DAYS) & (days.day >= day - RECENT_DAYS - REFERENCE_DAYS)
    reference = np.flatnonzero(inside & days.usable & (days.era == era))
    if len(reference) < LEAST_REFERENCE:
        return None
    changes = {m.name: _change(m, days, recent, reference) for m in MEASURES}
    what = _what(changes)
    if not what:
        return None
    known = {m: c for m in MEASURES if (c := changes[m.name]) is not None}
    facts = {
        "since_ms": (day - RECENT_DAYS) * DAY_MS,
        "what": what,
        "usual": {m.name: m.shown(c.usual.value) for m, c in known.items()},
        "now": {m.name: m.shown(c.now) for m, c in known.items()},
        "needed": {m.name: rounded(c.needed) for m, c in known.items()},
    }
    return Verdict(NAME, day * DAY_MS, None, facts)


def _change(measure: Measure, days: CoolerDays, recent: Indices, reference: Indices) -> Change | None:
    """How far the recent days are from the usual; None when either is not known well enough."""
    values = measure.of(days)
    now = values[recent][~np.isnan(values[recent])]
    outside = days.outside_c[recent]
    outside_now = float(np.median(outside)) if len(outside) and not np.isnan(outside).any() else np.nan
    before = values[reference]
    expected = usual(before, days.outside_c[reference], outside_now, measure.least_spread)
    if expected is None or len(now) < LEAST_RECENT or np.count_nonzero(~np.isnan(before)) < LEAST_REFERENCE:
        return None
    least = measure.least_without_weather if np.isnan(outside_now) else measure.least
    away = now - expected.value
    needed = max(least, SPREADS * expected.spread)
    return Change(float(np.median(now)), float(np.median(away)), _nearest(away), needed, expected)


def _nearest(away: Values) -> float:
    """The least change that all days share: 0 when they do not agree on the side."""
    return float(np.sign(away[0]) * np.abs(away).min()) if np.all(np.sign(away) == np.sign(away[0])) else 0.0


def _what(changes: dict[str, Change | None]) -> list[str]:
    found = []
    duty = changes[DUTY.name]
    for measure in (DUTY, LENGTH, SWING):
        change = changes[measure.name]
        if change is None or abs(change.away) < change.needed or abs(change.nearest) < BACK * change.needed:
            continue
        word = measure.more if change.away > 0 else measure.less
        # Longer cycles with less work are longer rests: it is colder around the cooler.
        if word and not (word == LENGTH.more and duty is not None and duty.away < -DUTY.least / 2):
            found.append(word)
    return [*found, "stopped"] if _stopped(changes) else found


def _stopped(changes: dict[str, Change | None]) -> bool:
    """Hardly a cycle any more while it gets warmer; without the warmth it is only cold enough."""
    cycles, mean = changes[CYCLES.name], changes[MEAN.name]
    if cycles is None or mean is None:
        return False
    runs = cycles.usual.value >= LEAST_USUAL_CYCLES
    return runs and cycles.now <= STOPPED_SHARE * cycles.usual.value and mean.away >= mean.needed


def _gone_on(current: Verdict, days: CoolerDays, recent: Indices, day: int) -> Verdict:
    """A spell after one more day, held against what was usual when it opened."""
    facts = {name: value for name, value in current.facts.items() if name != "ended"}
    now = {m.name: value for m in MEASURES if (value := _median(m.of(days)[recent])) is not None}
    if now:
        facts["now"] = {m.name: m.shown(now[m.name]) for m in MEASURES if m.name in now}
    ended = _ended(current, days, now, day)
    if ended is None:
        return Verdict(NAME, current.opened_ms, None, facts)
    return Verdict(NAME, current.opened_ms, day * DAY_MS, facts | {"ended": ended})


def _ended(current: Verdict, days: CoolerDays, now: dict[str, float], day: int) -> str | None:
    """released: rest or another target; lost: no usable day in a week; usual: it does so now; inside: it is over."""
    week = (days.day >= day - LOST_DAYS) & (days.day < day)
    if not days.calm[days.day == day - 1].all():
        return "released"
    if not days.usable[week].any():
        return "lost"
    if day * DAY_MS - current.opened_ms >= LONGEST_SPELL_MS:
        return "usual"
    return "inside" if all(_is_back(word, current.facts, now) for word in current.facts["what"]) else None


def _is_back(word: str, facts: dict[str, Any], now: dict[str, float]) -> bool:
    measure = CYCLES if word == "stopped" else next(m for m in MEASURES if word in (m.more, m.less))
    if measure.name not in now:
        return False
    usual_then = facts["usual"][measure.name]
    if word == "stopped":
        return bool(now[measure.name] >= BACK * usual_then)
    expected = np.log(usual_then) if measure.ratio else usual_then
    return bool(abs(now[measure.name] - expected) < BACK * facts["needed"][measure.name])


def _median(values: Values) -> float | None:
    known = values[~np.isnan(values)]
    return float(np.median(known)) if len(known) >= LEAST_RECENT else None


COOLER_CHANGED = PlaceRule(NAME, "cooler has changed", "note", MEMORY_MS, judge, needs_raw=True)
