"""Builders of places, their air and their targets for the tests of rules."""

from collections.abc import Sequence
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from collector.air.model import STEP_MS, Air, Course, Origin
from collector.readings.model import Series
from collector.rules.model import Band, PlaceRule, PlaceSituation, Verdict

START_MS = 1_772_323_200_000  # 2026-03-01 00:00 UTC
HOUR = 6  # steps
DAY = 24 * HOUR


def a_course(mean: npt.ArrayLike, *, known: npt.ArrayLike = 1.0, u: float = 0.2, origin: int = Origin.LEAD) -> Course:
    level = np.asarray(mean, dtype=float)
    share = np.where(np.isnan(level), 0.0, np.broadcast_to(known, level.shape))
    return Course(
        level, level.copy(), level.copy(), share, np.full(len(level), u), np.full(len(level), origin, dtype=np.int8)
    )


def an_air(
    temperature_c: npt.ArrayLike,
    humidity_pct: npt.ArrayLike,
    *,
    surface_c: npt.ArrayLike | None = None,
    start_ms: int = START_MS,
    origin: int = Origin.LEAD,
) -> Air:
    t, h = np.broadcast_arrays(np.asarray(temperature_c, dtype=float), np.asarray(humidity_pct, dtype=float))
    surface = (
        None if surface_c is None else a_course(np.broadcast_to(np.asarray(surface_c, dtype=float), t.shape), u=0.5)
    )
    steps = start_ms + STEP_MS * np.arange(len(t), dtype=np.int64)
    return Air(steps, a_course(t, origin=origin), a_course(h, u=2.0, origin=origin), surface)


def a_band(low: npt.ArrayLike, high: npt.ArrayLike, n: int) -> Band:
    return Band(np.broadcast_to(np.asarray(low, float), n).copy(), np.broadcast_to(np.asarray(high, float), n).copy())


def a_situation(
    air: Air,
    *,
    temperature: tuple[npt.ArrayLike, npt.ArrayLike] = (10.0, 14.0),
    humidity: tuple[npt.ArrayLike, npt.ArrayLike] = (82.0, 90.0),
    grace_h: npt.ArrayLike = 2.0,
    resting: npt.ArrayLike = False,
    raw_temperature: Series | None = None,
    outside: Air | None = None,
) -> PlaceSituation:
    n = len(air)
    return PlaceSituation(
        air=air,
        judged_from_ms=int(air.start_ms[0]) if n else START_MS,
        temperature_band_c=a_band(*temperature, n),
        humidity_band_pct=a_band(*humidity, n),
        grace_ms=np.asarray(np.broadcast_to(grace_h, n) * 3_600_000, dtype=np.int64),
        resting=np.broadcast_to(np.asarray(resting), n).copy(),
        outside=outside,
        raw_temperature=raw_temperature,
    )


def part_of(whole: PlaceSituation, first: int, stop: int, memory_ms: int) -> PlaceSituation:
    """The situation as the watch would hand it over to judge the steps [first, stop) only."""
    begin = max(0, first - memory_ms // STEP_MS)
    cut = slice(begin, stop)

    def course(c: Course) -> Course:
        return Course(c.mean[cut], c.low[cut], c.high[cut], c.known[cut], c.uncertainty[cut], c.origin[cut])

    def air(a: Air) -> Air:
        surface = None if a.surface_c is None else course(a.surface_c)
        return Air(a.start_ms[cut], course(a.temperature_c), course(a.humidity_pct), surface)

    return PlaceSituation(
        air=air(whole.air),
        judged_from_ms=int(whole.air.start_ms[0]) + first * STEP_MS,
        temperature_band_c=Band(whole.temperature_band_c.low[cut], whole.temperature_band_c.high[cut]),
        humidity_band_pct=Band(whole.humidity_band_pct.low[cut], whole.humidity_band_pct.high[cut]),
        grace_ms=whole.grace_ms[cut],
        resting=whole.resting[cut],
        outside=None if whole.outside is None else air(whole.outside),
        raw_temperature=None
        if whole.raw_temperature is None
        else _readings_between(
            whole.raw_temperature,
            int(whole.air.start_ms[0]) + begin * STEP_MS,
            int(whole.air.start_ms[0]) + stop * STEP_MS,
        ),
    )


def judged_in_parts(rule: PlaceRule, whole: PlaceSituation, cuts: Sequence[int]) -> list[Verdict]:
    """Verdicts of judging piece by piece, each with the spell that was open carried in."""
    edges = [0, *sorted(set(cuts)), len(whole.air)]
    done: list[Verdict] = []
    for first, stop in pairwise(edges):
        carried = done.pop() if done and done[-1].cleared_ms is None else None
        done += rule.judge(part_of(whole, first, stop, rule.memory_ms), carried)
    return done


def open_at(verdicts: Sequence[Verdict], at_ms: int) -> Verdict | None:
    """The spell that was open before a step, with the facts of its end, as the watch finds it in the records."""
    for verdict in verdicts:
        if verdict.opened_ms < at_ms and (verdict.cleared_ms is None or verdict.cleared_ms >= at_ms):
            return Verdict(verdict.rule, verdict.opened_ms, None, verdict.facts)
    return None


def finished_before(verdicts: Sequence[Verdict], at_ms: int) -> list[Verdict]:
    """The spells that judging again from a step leaves alone."""
    return [v for v in verdicts if v.cleared_ms is not None and v.cleared_ms < at_ms]


def _readings_between(raw: Series, from_ms: int, to_ms: int) -> Series:
    keep = (raw.taken_ms >= from_ms) & (raw.taken_ms < to_ms)
    return Series(raw.taken_ms[keep], raw.value[keep], raw.unit[keep], raw.mark[keep], raw.units)
