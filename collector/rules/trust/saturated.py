"""A humidity that stays at the top of what its probe can say; a note, for air at 96 % may well look so; pure."""

from typing import Any

import numpy as np

from collector.air.model import STEP_MS
from collector.readings.model import Values
from collector.rules.model import ChannelRule, ChannelSituation, Verdict
from collector.rules.trust.readings import Heard, heard
from collector.rules.trust.verdicts import steps_saying, verdicts

NAME = "saturated"
HOUR_MS = 3_600_000
DAY_MS = 24 * HOUR_MS
WINDOW_MS = DAY_MS  # our choice: washing a cave down keeps it at 100 % for hours, not for a day
CEILING_MS = 7 * DAY_MS  # over which a ceiling below 99 % must be the highest value of all
PINNED_FROM_PCT = 99.0
# A probe clips at 100 before calibration, which may have moved that down by its tolerance of up to 3 points.
CEILING_FROM_PCT = 97.0
LEAST_KNOWN_MS = WINDOW_MS * 3 // 4  # our choice: for three quarters of the day readings must speak


def at_ceiling(quantity: str, value: float, highest: float) -> bool:
    """Whether a constant value is the top of a humidity probe's range, and not a probe that hangs.

    Args:
        quantity: the channel's quantity.
        value: the constant value, canonical unit.
        highest: the highest value of the channel in the days before, itself included.
    Source: at 96 % and above a probe good to 3 or 4 points may read 100 (tolerance in data sheets, section on
        accuracy towards 100 %RH), and an SHT4x is clipped there by its formula; after calibration the top lies
        between 97 and 103.
    """
    if quantity != "humidity" or value < CEILING_FROM_PCT:
        return False
    return value >= PINNED_FROM_PCT or value >= highest


def judge(situation: ChannelSituation, carried: Verdict | None) -> list[Verdict]:
    """Spells in which a humidity stood at the top of its probe for a day and longer.

    Args:
        situation: readings calibrated; cut back to 100 or not makes no difference.
        carried: the spell open before the judged span.
    Returns:
        Verdicts with facts: since_ms (up to a day before it was noticed), value.
        Quantities other than humidity give none.
    Source: our choice of a day; see `at_ceiling` for what it does not mean.
    """
    if situation.quantity != "humidity":
        return []
    own = heard(situation)
    pinned = own.nothing()
    for step in _worth_a_look(own):
        pinned[step] = _is_pinned(own, step)
    below = own.count(own.value < CEILING_FROM_PCT, HOUR_MS) > 0
    steps = steps_saying(pinned, below, own.silent)

    def opening(step: int) -> dict[str, Any]:
        return {"since_ms": own.taken_ms[own.within(WINDOW_MS)[step]]}

    def latest(step: int) -> dict[str, Any]:
        return {"value": own.value[own.upto[step] - 1]}

    return verdicts(NAME, own.start_ms, own.first, steps, carried, opening, latest)


def _worth_a_look(own: Heard) -> list[int]:
    """Judged steps with a reading, before which readings spoke for most of a day and none was below the top."""
    spoken = np.concatenate([[0], np.cumsum(own.held_ms)])
    known_ms = spoken[np.maximum(own.upto - 1, 0)] - spoken[own.within(WINDOW_MS)]
    low_ones = own.count(own.value < CEILING_FROM_PCT, WINDOW_MS)
    judged = np.arange(len(own.start_ms)) >= own.first
    return [int(i) for i in np.flatnonzero(judged & (low_ones == 0) & (known_ms >= LEAST_KNOWN_MS) & ~own.silent)]


def _is_pinned(own: Heard, step: int) -> bool:
    window: Values = own.value[own.within(WINDOW_MS)[step] : own.upto[step]]
    lowest, highest = float(window.min()), float(window.max())
    if lowest >= PINNED_FROM_PCT:
        return True
    before: Values = own.value[own.within(CEILING_MS)[step] : own.upto[step]]
    return lowest == highest and at_ceiling("humidity", lowest, float(before.max()))


SATURATED = ChannelRule(
    NAME, "stands at the top of its range", "note", memory_ms=CEILING_MS + STEP_MS, doubts=False, judge=judge
)
