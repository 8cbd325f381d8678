"""Times as the clock on the household's wall shows them, for an axis that knows no zones; pure.

When the clocks go back, an hour of the wall's comes twice and a line would run back over itself; so it is broken there,
and whoever draws it says so.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import numpy.typing as npt

from collector.readings.model import Millis

SECOND_MS, MINUTE_MS = 1_000, 60_000


@dataclass(frozen=True, slots=True)
class ClockChange:
    """One change of the clocks: when, and by how much the wall moves on [ms], negative when it goes back."""

    at_ms: int
    by_ms: int


@dataclass(frozen=True, slots=True)
class WallTimes:
    """Times as texts without offset, with a break before each time at which the clock went back.

    Args:
        texts: one for each point, like 2026-03-12T14:10.
        breaks: indices of points before which a line has to be broken.
    """

    texts: list[str]
    breaks: npt.NDArray[np.int64]

    def laid_out(self, values: Sequence[float | None]) -> list[float | None]:
        """Values to the texts of `laid_out_texts`: None at each break."""
        result = list(values)
        for index in reversed(self.breaks.tolist()):
            result.insert(index, None)
        return result

    def laid_out_texts(self) -> list[str]:
        """The texts, each break standing at the time of the point before it."""
        result = list(self.texts)
        for index in reversed(self.breaks.tolist()):
            result.insert(index, result[index - 1])
        return result


def changes(zone: ZoneInfo, from_ms: int, to_ms: int) -> list[ClockChange]:
    """The changes of the clocks within a span, found to the second.

    Args:
        zone: of the household. from_ms, to_ms: the span [ms since 1970 UTC].
    """
    found, step = [], 7 * 86_400_000
    at = from_ms
    while at < to_ms:
        end = min(at + step, to_ms)
        before, after = offset_ms(zone, at), offset_ms(zone, end)
        if before != after:
            found.append(ClockChange(_narrowed(zone, at, end), after - before))
        at = end
    return found


def _narrowed(zone: ZoneInfo, low: int, high: int) -> int:
    """When the clocks change between two times; they do so on a whole second."""
    before = offset_ms(zone, low)
    while high - low > SECOND_MS:
        middle = (low + high) // 2
        low, high = (middle, high) if offset_ms(zone, middle) == before else (low, middle)
    return high // SECOND_MS * SECOND_MS


def offset_ms(zone: ZoneInfo, at_ms: int) -> int:
    """How far the wall is ahead of UTC at a time [ms]."""
    offset = datetime.fromtimestamp(at_ms / 1_000, UTC).astimezone(zone).utcoffset()
    return 0 if offset is None else offset // timedelta(milliseconds=1)


def wall_ms(at_ms: Millis, zone: ZoneInfo) -> Millis:
    """Times on the wall as if they were UTC [ms]; a zone's changes are looked up, not each time."""
    if len(at_ms) == 0:
        return at_ms
    first, last = int(at_ms.min()), int(at_ms.max())
    wall = at_ms + offset_ms(zone, first)
    for change in changes(zone, first, last + 1):
        wall = wall + np.where(at_ms >= change.at_ms, change.by_ms, 0)
    return np.asarray(wall, dtype=np.int64)


def wall_times(at_ms: Millis, zone: ZoneInfo, seconds: bool = False) -> WallTimes:
    """Rising times as texts for an axis.

    Args:
        at_ms: times, rising, shape (n,) [ms since 1970 UTC]. zone: of the household.
        seconds: whether the texts have seconds; else they are cut to the minute.
    """
    wall = wall_ms(at_ms, zone)
    unit, code = (SECOND_MS, "s") if seconds else (MINUTE_MS, "m")
    texts = np.datetime_as_string((wall // unit).astype(f"datetime64[{code}]")).tolist()
    return WallTimes(texts, np.flatnonzero(np.diff(wall) < 0) + 1)


def wall_text(at_ms: int, zone: ZoneInfo) -> str:
    """One time as a text for an axis, to the minute."""
    return f"{datetime.fromtimestamp(at_ms / 1_000, UTC).astimezone(zone):%Y-%m-%dT%H:%M}"
