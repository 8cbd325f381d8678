"""The air of a place from its channels: the lead probe, else the median of the undoubted ones; pure."""

from collections.abc import Mapping, Sequence

import numpy as np
import numpy.typing as npt

from collector.air.channel import TYPED_PREFIX, Stretch
from collector.air.model import STEP_MS, Course, Origin, unknown_course
from collector.readings.model import Millis, Values
from collector.records.facts import Lead

PARENT_U = {"temperature": 1.0, "humidity": 5.0}  # our choice: what a box or shelf may differ from its room
ASSUMED_U = {"temperature": 2.0, "humidity": 8.0}  # our choice: a guess by the person, no instrument
Doubts = Mapping[int, Sequence[tuple[int, int]]]


def without_doubt(stretch: Stretch, grid_ms: Millis, spells: Sequence[tuple[int, int]]) -> Stretch:
    """A channel without the steps that its probe's faults touch; nothing is erased, it is only left out."""
    bad = np.zeros(len(grid_ms), dtype=bool)
    for from_ms, to_ms in spells:
        bad |= (grid_ms + STEP_MS > from_ms) & (grid_ms < to_ms)
    if not bad.any():
        return stretch
    mean, low, high, spread = (
        np.where(bad, np.nan, a) for a in (stretch.mean, stretch.low, stretch.high, stretch.spread)
    )
    covered = np.where(bad, 0.0, stretch.covered_ms)
    return Stretch(stretch.channel, mean, low, high, spread, covered, stretch.uncertainty)


def course(stretches: Sequence[Stretch], leads: Sequence[tuple[int, int, Lead | None]], grid_ms: Millis) -> Course:
    """One quantity of a place.

    Args:
        stretches: channels of that quantity in that place on the grid, doubtful steps left out.
        leads: which probe a person chose to stand for the place, span by span.
        grid_ms: the grid, shape (n,).
    Returns:
        The lead's values where it has any, else the median of the probes, else what a person typed.
    Source: our choice, decision "the cave's air" in DEVELOPERS.md.
    """
    result = unknown_course(len(grid_ms))
    devices = [s for s in stretches if not s.channel.probe.startswith(TYPED_PREFIX)]
    typed = [s for s in stretches if s.channel.probe.startswith(TYPED_PREFIX)]
    _fill(result, _median(typed), Origin.TYPED)
    _fill(result, _median(devices), Origin.MEDIAN)
    for from_ms, to_ms, lead in leads:
        own = [s for s in devices if lead is not None and s.channel.probe == lead.probe]
        if own:
            _fill(result, _median(own), Origin.LEAD, (grid_ms >= from_ms) & (grid_ms < to_ms))
    return result


def _fill(into: Course, found: Course | None, origin: Origin, where: npt.NDArray[np.bool_] | None = None) -> None:
    if found is None:
        return
    rows = ~np.isnan(found.mean) if where is None else ~np.isnan(found.mean) & where
    for name in ("mean", "low", "high", "spread", "known", "uncertainty"):
        getattr(into, name)[rows] = getattr(found, name)[rows]
    into.origin[rows] = origin


def _median(stretches: Sequence[Stretch]) -> Course | None:
    if not stretches:
        return None
    if len(stretches) == 1:
        one = stretches[0]
        return _course(one.mean, one.low, one.high, one.spread, one.covered_ms, one.uncertainty)
    names = ("mean", "low", "high", "spread", "uncertainty")
    columns = [np.array([getattr(s, name) for s in stretches]) for name in names]
    mean, low, high, spread, doubt = (_nanmedian(c) for c in columns)
    doubt = np.hypot(doubt, _between_two(columns[0]))
    return _course(mean, low, high, spread, np.max([s.covered_ms for s in stretches], axis=0), doubt)


def _between_two(means: Values) -> Values:
    """What two probes add to the doubt by differing: the truth lies anywhere between them (JCGM 100:2008, 4.3.7).

    Of three or more the middle one is held by its neighbours, and one that strays is set aside by the rules of trust.
    """
    ordered, known = np.sort(means, axis=0), np.count_nonzero(~np.isnan(means), axis=0)
    return np.asarray(np.where(known == 2, (ordered[1] - ordered[0]) / np.sqrt(12), 0.0))


def _nanmedian(values: Values) -> Values:
    # By sorting, NaN last: numpy's own takes ten times as long for a few rows, and pages ask for it often.
    ordered, known = np.sort(values, axis=0), np.count_nonzero(~np.isnan(values), axis=0)
    steps, half = np.arange(values.shape[1]), np.maximum(known, 1)
    middle = (ordered[(half - 1) // 2, steps] + ordered[half // 2, steps]) / 2
    return np.asarray(np.where(known > 0, middle, np.nan))


def _course(mean: Values, low: Values, high: Values, spread: Values, covered_ms: Values, doubt: Values) -> Course:
    known = np.clip(covered_ms / STEP_MS, 0, 1)
    return Course(mean, low, high, known, doubt, np.full(len(mean), Origin.UNKNOWN, dtype=np.int8), spread)


def fill_from_parent(own: Course, parent: Course, quantity: str) -> None:
    """Where a place knows nothing, the room around it stands in, with a wider uncertainty."""
    rows = np.isnan(own.mean) & ~np.isnan(parent.mean)
    for name in ("mean", "low", "high", "spread", "known"):
        getattr(own, name)[rows] = getattr(parent, name)[rows]
    own.uncertainty[rows] = np.hypot(parent.uncertainty[rows], PARENT_U[quantity])
    own.origin[rows] = Origin.PARENT


def fill_assumed(own: Course, value: float | None, quantity: str) -> None:
    """Where nothing was measured, what the person assumes; no time is covered by it."""
    if value is None:
        return
    rows = np.isnan(own.mean)
    for name, level in (("mean", value), ("low", value), ("high", value), ("spread", 0.0)):
        getattr(own, name)[rows] = level
    own.uncertainty[rows] = ASSUMED_U[quantity]
    own.origin[rows] = Origin.ASSUMED
