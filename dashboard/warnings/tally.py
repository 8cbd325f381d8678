"""How often each kind of warning came where, how often it was right, and what to change after false alarms."""

import math
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from collector.notify import facts
from collector.records.facts import Target
from collector.records.warnings import CaveWarning

COUNTED = timedelta(days=90)  # our choice: a season
FALSE_ALARMS = 3
# What an offered change may do at most: our choice. Beyond, the air was truly off, or the probe is.
LONGEST_GRACE_MIN = 12 * 60
GRACE_STEP_MIN = 30
Subject = tuple[str | None, str | None]


@dataclass(frozen=True, slots=True)
class Side:
    """The limit that a rule holds air to: its column of the target, its unit, and how far it may be moved."""

    column: str
    sign: int
    step: float
    furthest: float


SIDES: Mapping[str, Side] = {
    "too_warm": Side("temperature_high_c", 1, 0.5, 2.0),
    "too_cold": Side("temperature_low_c", -1, 0.5, 2.0),
    "too_damp": Side("humidity_high_pct", 1, 1.0, 6.0),
    "too_dry": Side("humidity_low_pct", -1, 1.0, 6.0),
}


@dataclass(frozen=True, slots=True)
class Row:
    """One kind of warning about one place or probe, and how people judged it."""

    place_id: str | None
    probe: str | None
    rule: str
    times: int
    right: int
    false: int


@dataclass(frozen=True, slots=True)
class Offer:
    """A change of a place's target that the false alarms suggest; None for what stays as it is."""

    place_id: str
    rule: str
    false_alarms: int
    grace_min: int | None = None
    column: str = ""
    limit: float | None = None


def tally(known: Iterable[CaveWarning]) -> list[Row]:
    """Count warnings by subject and rule, the most frequent first.

    Args:
        known: warnings that were not withdrawn.
    """
    times: Counter[tuple[Subject, str]] = Counter()
    judged: Counter[tuple[Subject, str, str]] = Counter()
    for warning in known:
        key = ((warning.place_id, warning.probe), warning.rule)
        times[key] += 1
        if warning.judged:
            judged[(*key, warning.judged)] += 1
    return [
        Row(*subject, rule, count, judged[subject, rule, "right"], judged[subject, rule, "false"])
        for (subject, rule), count in times.most_common()
    ]


def offer(false_ones: Sequence[CaveWarning], target: Target | None, now_at: datetime) -> Offer | None:
    """What to change after false alarms of one kind in one place.

    Args:
        false_ones: warnings of one rule about one place that people called false, under the target that holds now.
        target: that target; None or a resting one offers nothing.
        now_at: the end of one that is still open.
    Returns:
        The smallest longer grace and the smallest wider limit that would have kept them silent, each only where it is
        no more than `LONGEST_GRACE_MIN` and `Side.furthest`; None when there are fewer than three, or neither helps.
    Source: our choice.
    """
    if len(false_ones) < FALSE_ALARMS or target is None or target.resting:
        return None
    first = false_ones[0]
    side = SIDES.get(first.rule)
    if side is None or first.place_id is None:
        return None
    grace = _grace(false_ones, target, now_at)
    limit = _limit(false_ones, side, getattr(target, side.column))
    if grace is None and limit is None:
        return None
    column = side.column if limit is not None else ""
    return Offer(first.place_id, first.rule, len(false_ones), grace, column, limit)


def _grace(false_ones: Sequence[CaveWarning], target: Target, now_at: datetime) -> int | None:
    longest = max((w.cleared_at or now_at) - facts.since(w) for w in false_ones)
    needed = GRACE_STEP_MIN * math.floor(longest.total_seconds() / 60 / GRACE_STEP_MIN + 1)
    return needed if target.grace_min < needed <= LONGEST_GRACE_MIN else None


def _limit(false_ones: Sequence[CaveWarning], side: Side, now: float | None) -> float | None:
    worst = [value for w in false_ones if (value := facts.real(w.facts, "worst")) is not None]
    if now is None or len(worst) < len(false_ones):
        return None
    furthest = max(worst, key=lambda value: side.sign * value)
    steps = math.floor(side.sign * furthest / side.step + 1)
    wider = side.sign * steps * side.step
    return wider if 0 < side.sign * (wider - now) <= side.furthest else None
