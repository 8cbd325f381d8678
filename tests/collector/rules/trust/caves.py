"""Simulated caves for tests and benches of the trust rules: what honest probes say in them, and how faults look.

Invented courses with the features that could fool a rule: a cooler's cycle, doors with a fast fall and a slow way
back, slow weather, a washing-down, sensor noise and the steps in which a probe reports.
"""

from dataclasses import dataclass, field, replace
from itertools import pairwise

import numpy as np

from collector.air.model import STEP_MS
from collector.readings.coverage import held_ms, time_weighted
from collector.readings.model import Millis, Series, Values
from collector.rules.model import ChannelRule, ChannelSituation, Verdict

MINUTE_MS = 60_000
HOUR_MS = 3_600_000
DAY_MS = 86_400_000
BEGIN_MS = 1_760_054_400_000  # midnight UTC of some day


@dataclass(frozen=True, slots=True)
class CaveKind:
    """How the air of one kind of cave moves; amplitudes in K and points of humidity."""

    cycle_min: float
    swing_k: float
    swing_pct: float
    doors_a_day: float
    door_k: float
    door_pct: float
    weather_k: float
    weather_pct: float


FRIDGE = CaveKind(32, 2.0, 11.0, 6, 4.0, 25.0, 0.3, 1.5)
WILD_FRIDGE = CaveKind(27, 3.5, 24.0, 10, 6.0, 35.0, 0.5, 3.0)
CELLAR = CaveKind(0, 0.0, 0.0, 3, 0.8, 6.0, 0.4, 2.0)
DEEP_CELLAR = CaveKind(0, 0.0, 0.0, 0.3, 0.3, 2.0, 0.1, 0.5)
BOX = CaveKind(0, 0.0, 0.0, 1, 0.4, 15.0, 0.3, 1.0)


@dataclass(frozen=True, slots=True)
class Air:
    """The true air each minute from BEGIN_MS on."""

    temperature: Values
    humidity: Values

    def of(self, quantity: str) -> Values:
        return self.temperature if quantity == "temperature" else self.humidity


@dataclass(frozen=True, slots=True)
class Channel:
    """Readings of one quantity from one probe, and its ten-minute means."""

    quantity: str
    taken_ms: Millis
    value: Values
    neighbours: dict[str, Values] = field(default_factory=dict)
    uncertainty: float = 0.0
    neighbour_uncertainty: dict[str, float] = field(default_factory=dict)
    mark: Millis | None = None

    def with_values(self, value: Values) -> "Channel":
        return replace(self, value=value)

    def without(self, from_ms: int, to_ms: int) -> "Channel":
        kept = (self.taken_ms < from_ms) | (self.taken_ms >= to_ms)
        return replace(self, taken_ms=self.taken_ms[kept], value=self.value[kept])


def wander(rng: np.random.Generator, minutes: int, hours: float) -> Values:
    """A smooth course of unit spread that forgets itself after some hours."""
    knots = rng.standard_normal(int(minutes / (60 * hours)) + 6)
    knots = np.convolve(knots, [1, 2, 1], mode="same") / np.sqrt(6)
    return np.interp(np.arange(minutes) / (60 * hours), np.arange(len(knots)), knots)


def air(kind: CaveKind, days: float, seed: int) -> Air:
    """The air of a cave for some days."""
    rng = np.random.default_rng(seed)
    minutes = int(days * 1440)
    t = 11.5 + kind.weather_k * wander(rng, minutes, 30)
    rh = 89.0 + kind.weather_pct * wander(rng, minutes, 18)
    if kind.cycle_min:
        phase = np.cumsum(1 / (kind.cycle_min * (1 + 0.1 * wander(rng, minutes, 5)))) % 1
        saw = np.where(phase < 0.3, 1 - phase / 0.15, -1 + (phase - 0.3) / 0.35)
        t, rh = t + kind.swing_k / 2 * saw, rh + kind.swing_pct / 2 * saw
    opened = _doors(rng, kind, minutes)
    return Air(t + kind.door_k * opened, np.clip(rh - kind.door_pct * opened, 5, 99.9))


def _doors(rng: np.random.Generator, kind: CaveKind, minutes: int) -> Values:
    """1 while a door has long been open; quick to rise, some minutes to fall."""
    is_open = np.zeros(minutes)
    for at in rng.integers(0, minutes, rng.poisson(kind.doors_a_day * minutes / 1440)):
        is_open[at : at + int(rng.integers(1, 9))] = rng.uniform(0.3, 1.0)
    out, level = np.empty(minutes), 0.0
    for i, target in enumerate(is_open):
        level += (target - level) * (0.7 if target > level else 1 / 6)
        out[i] = level
    return out


def probe(
    course: Air,
    quantity: str,
    seed: int,
    *,
    interval_min: float = 1,
    resolution: float | None = None,
    noise: float | None = None,
    offset: float = 0.0,
    lag_min: float = 2.0,
) -> Channel:
    """What an honest probe says of an air."""
    rng = np.random.default_rng(seed)
    fine = quantity == "temperature"
    true = _lagged(course.of(quantity), lag_min)
    every = round(interval_min * MINUTE_MS)
    taken = BEGIN_MS + np.arange(int(len(true) * MINUTE_MS / every), dtype=np.int64) * every
    taken = taken + rng.integers(0, 3_000, len(taken))
    value = np.interp(taken, BEGIN_MS + np.arange(len(true)) * MINUTE_MS, true) + offset
    value = value + rng.standard_normal(len(taken)) * ((0.02 if fine else 0.1) if noise is None else noise)
    step = (0.01 if fine else 0.1) if resolution is None else resolution
    return Channel(quantity, taken, np.round(np.round(value / step) * step, 6))


def _lagged(course: Values, lag_min: float) -> Values:
    out, level = np.empty(len(course)), float(course[0])
    for i, value in enumerate(course):
        level += (value - level) / (1 + lag_min)
        out[i] = level
    return out


def means(channel: Channel, days: float) -> Values:
    """Ten-minute means of a channel, NaN where less than a third of the step is known."""
    n = int(days * 144)
    edges = BEGIN_MS + np.arange(n + 1, dtype=np.int64) * STEP_MS
    held = held_ms(channel.taken_ms, int(edges[-1]))
    mean, covered = time_weighted(channel.taken_ms, held, channel.value, edges)
    return np.where(covered * 3 >= STEP_MS, mean, np.nan)


def place(channels: dict[str, Channel], days: float) -> dict[str, Channel]:
    """Channels of one place, each with the others as its neighbours."""
    courses = {name: means(channel, days) for name, channel in channels.items()}
    return {
        name: replace(
            channel,
            neighbours={other: course for other, course in courses.items() if other != name},
            neighbour_uncertainty={
                other: c.uncertainty for other, c in channels.items() if other != name and c.uncertainty > 0
            },
        )
        for name, channel in channels.items()
    }


@dataclass(frozen=True, slots=True)
class Prepared:
    """A channel ready to be judged over any span."""

    channel: Channel
    held: Millis
    grid_ms: Millis
    own: Values

    def situation(self, rule: ChannelRule, from_ms: int, to_ms: int) -> ChannelSituation:
        """What the watch would hand to a rule: no more than its memory before the judged span."""
        c = self.channel
        raw = (c.taken_ms >= from_ms - rule.memory_ms) & (c.taken_ms < to_ms)
        grid = (self.grid_ms >= from_ms - rule.memory_ms) & (self.grid_ms < to_ms)
        marks = np.zeros(len(c.taken_ms), dtype=np.int64) if c.mark is None else c.mark
        series = Series(c.taken_ms[raw], c.value[raw], np.zeros(int(raw.sum()), dtype=np.int64), marks[raw])
        return ChannelSituation(
            raw=series,
            judged_from_ms=from_ms,
            judged_to_ms=to_ms,
            quantity=c.quantity,
            held_ms=self.held[raw],
            grid_ms=self.grid_ms[grid],
            own=self.own[grid],
            neighbours={name: course[grid] for name, course in c.neighbours.items()},
            uncertainty=c.uncertainty,
            neighbour_uncertainty=c.neighbour_uncertainty,
        )

    @property
    def end_ms(self) -> int:
        return int(self.grid_ms[-1]) + STEP_MS


def prepared(channel: Channel, days: float) -> Prepared:
    """A channel with its ten-minute means."""
    grid = BEGIN_MS + np.arange(int(days * 144), dtype=np.int64) * STEP_MS
    held = held_ms(channel.taken_ms, int(grid[-1]) + STEP_MS)
    return Prepared(channel, held, grid, means(channel, days))


def judged(rule: ChannelRule, channel: Channel, days: float) -> list[Verdict]:
    """One pass over everything."""
    ready = prepared(channel, days)
    return rule.judge(ready.situation(rule, BEGIN_MS, ready.end_ms), None)


def judged_in_pieces(rule: ChannelRule, channel: Channel, days: float, cuts_ms: list[int]) -> list[Verdict]:
    """The same in pieces, each with no more than the rule's memory and the spell that was open."""
    ready = prepared(channel, days)
    edges = [BEGIN_MS, *sorted(cuts_ms), ready.end_ms]
    done: list[Verdict] = []
    carried: Verdict | None = None
    for start, end in pairwise(edges):
        found = rule.judge(ready.situation(rule, start, end), carried)
        carried = found[-1] if found and found[-1].cleared_ms is None else None
        done += found[:-1] if carried else found
    return [*done, carried] if carried else done
