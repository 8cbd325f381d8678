"""Answers in the knobs that people have: when to cover, under what, where; pure."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from dashboard.wheels.bodies.sheets import LossLimit
from dashboard.wheels.weight.exposure import Exposure, Under
from dashboard.wheels.weight.fit import Fit
from dashboard.wheels.weight.forecast import Course, foretold

TRIED_DAYS = 9
EARLY, MIDDLE, LATE = 0.05, 0.5, 0.95


@dataclass(frozen=True, slots=True)
class Limits:
    """What a wheel should have lost by its ready day [% of its start]."""

    low_pct: float
    high_pct: float

    @property
    def aim_pct(self) -> float:
        return (self.low_pct + self.high_pct) / 2


def limits_for(losses: Sequence[LossLimit], start_g: float) -> Limits | None:
    """The limits for a wheel of this size [g]: the smallest row that it fits, else the open one; None for no rows."""
    fitting = [row for row in losses if row.up_to_g is None or start_g <= row.up_to_g]
    if not fitting:
        return None
    row = min(fitting, key=lambda one: one.up_to_g if one.up_to_g is not None else np.inf)
    return Limits(row.low_pct, row.high_pct)


@dataclass(frozen=True, slots=True)
class CoverDay:
    """When to cover a wheel so that it weighs what was aimed at on its ready day.

    Args:
        on_ms: the day; from_ms, to_ms: its 90 % interval, cut at now and at the ready day.
        course: what the wheel will weigh on its ready day if it is covered on that day.
        is_now: it should have been covered before. never: it does not reach the aim before its ready day; `on_ms` is
            that day.
    """

    on_ms: int
    from_ms: int
    to_ms: int
    course: Course
    is_now: bool = False
    never: bool = False


def when_to_cover(
    fit: Fit, ahead: Exposure, covers: Sequence[Under], under: Under, aim_g: float, now_ms: int, due_ms: int
) -> CoverDay:
    """The day on which to cover a wheel.

    Args:
        fit: what was learnt. ahead: the wheel's air from its first weighing to its ready day. covers: what covers it
            so far. under: the covering to come; its time does not matter. aim_g: what it should weigh on its ready day
            [g]. now_ms, due_ms: now and its ready day.
    Returns:
        The day: the one on which it is as likely to be too early as too late.
    Raises:
        ValueError: a ready day that is not after now.
    Source: of each day tried, how likely the wheel ends below the aim; the later it is covered, the likelier.
    """
    if due_ms <= now_ms:
        raise ValueError(f"due_ms must be after now_ms {now_ms}, got {due_ms}")
    edges = ahead.edges_ms[(ahead.edges_ms >= now_ms) & (ahead.edges_ms <= due_ms)]
    tried = np.unique(edges[np.linspace(0, len(edges) - 1, min(TRIED_DAYS, len(edges))).round().astype(int)])
    due = np.array([due_ms], dtype=np.int64)

    def covered(on_ms: int) -> Course:
        later = [c for c in covers if c.from_ms < on_ms]
        return foretold(fit, ahead.under([*later, Under(on_ms, under.covering, under.coats)]), due)

    too_light = np.maximum.accumulate([float(covered(int(on)).below(aim_g)[0]) for on in tried])
    days = [_crossing(tried, too_light, share) for share in (EARLY, MIDDLE, LATE)]
    on_ms = days[1]
    return CoverDay(
        on_ms, days[0], days[2], covered(on_ms), is_now=too_light[0] >= MIDDLE, never=too_light[-1] < MIDDLE
    )


def _crossing(tried: np.ndarray[tuple[int, ...], np.dtype[np.int64]], likely: object, share: float) -> int:
    rising = np.asarray(likely, dtype=float) + 1e-9 * np.arange(len(tried))
    return int(np.interp(share, rising, tried.astype(float)))


@dataclass(frozen=True, slots=True)
class Choice:
    """What becomes of a wheel in a place or under a covering by its ready day: loss [%], middle and interval."""

    name: str
    loss_pct: float
    low_pct: float
    high_pct: float


def choices(fit: Fit, start_g: float, due_ms: int, ahead: Mapping[str, Exposure]) -> list[Choice]:
    """What each of several futures brings by the ready day, in their order.

    Args:
        start_g: the weight that is 100 % [g]. ahead: by name, the wheel's air from its first weighing to its ready day.
    """
    found = []
    for name, exposure in ahead.items():
        course = foretold(fit, exposure, np.array([due_ms], dtype=np.int64))
        lost = (100 * (1 - float(mass[0]) / start_g) for mass in (course.middle_g, course.high_g, course.low_g))
        found.append(Choice(name, *lost))
    return found
