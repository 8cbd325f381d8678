"""When the doors and lids of the demo open: the round in the morning and evening, and now and then in between.

A pure function of seed, room and day. No opening crosses midnight UTC, so a day knows its own.
"""

from dataclasses import dataclass

import numpy as np

from collector.demo.noise import FloatArray, generator
from collector.demo.weather import DAY_MS, HOUR_MS

MINUTE_MS = 60_000
MINUTES_A_DAY = 1440
# Nothing opens in the last hour of the day: the plates rest then, and blocks of the simulation meet at midnight.
LAST_HOUR_UTC = 22.5


@dataclass(frozen=True, slots=True)
class Visit:
    """A habit: about when [h UTC], how long [min], and on which share of the days."""

    hour_utc: float
    minutes: float
    share: float = 1.0


@dataclass(frozen=True, slots=True)
class Opening:
    """One spell with the door open [ms since 1970, UTC]."""

    from_ms: int
    to_ms: int


def openings(seed: int, room: str, visits: tuple[Visit, ...], day: int) -> tuple[Opening, ...]:
    """The spells of one UTC day in which a room stood open, in order and apart from each other.

    Args:
        seed: the world's seed, 0 to 2**64 - 1.
        room: whose door; each has chance of its own.
        visits: the habits of the people there.
        day: days since 1970-01-01 UTC.
    Returns:
        The openings; the hour varies by some 20 minutes, the length by a third.
    Raises:
        ValueError: a seed outside its range.
    """
    chance = generator(seed, f"door/{room}", day)
    draws = chance.random((len(visits), 3))
    found: list[Opening] = []
    for visit, (comes, shift, length) in zip(visits, draws.tolist(), strict=True):
        if comes >= visit.share:
            continue
        hour = min(visit.hour_utc + (shift - 0.5) * 0.7, LAST_HOUR_UTC)
        from_ms = day * DAY_MS + round(hour * HOUR_MS)
        to_ms = from_ms + round(visit.minutes * (0.67 + 0.66 * length) * MINUTE_MS)
        found.append(Opening(from_ms, to_ms))
    return _apart(sorted(found, key=lambda opening: opening.from_ms))


def _apart(found: list[Opening]) -> tuple[Opening, ...]:
    apart: list[Opening] = []
    for opening in found:
        if apart and opening.from_ms <= apart[-1].to_ms:
            apart[-1] = Opening(apart[-1].from_ms, max(apart[-1].to_ms, opening.to_ms))
        else:
            apart.append(opening)
    return tuple(apart)


def open_share(found: tuple[Opening, ...], day: int) -> FloatArray:
    """How much of each minute of a UTC day the door stood open.

    Args:
        found: the openings of that day.
        day: days since 1970-01-01 UTC.
    Returns:
        Shares from 0 to 1, shape (1440,).
    """
    edges = day * DAY_MS + MINUTE_MS * np.arange(MINUTES_A_DAY + 1)
    share = np.zeros(MINUTES_A_DAY)
    for opening in found:
        inside = np.minimum(np.maximum(edges, opening.from_ms), opening.to_ms)
        share += np.diff(inside) / MINUTE_MS
    return share
