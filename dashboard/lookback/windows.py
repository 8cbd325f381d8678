"""Windows of time before a rind note, and all other windows of a place to hold them against; pure."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from collector.readings.model import Millis, Values
from dashboard.lookback.exposures import BY_NAME, HOUR_MS, Hours

DAY_MS = 86_400_000
YEAR_D = 365.25
STRATA_FROM_D = 2 * YEAR_D  # the same season is there twice from here on
SEASONS = ("winter", "spring", "summer", "autumn")
STRIDE_H = 6  # our choice: windows begin every quarter of a day
LEAST_KNOWN = 0.75  # our choice: a window to compare with has readings for three quarters of its time
LEAST_DAYS = 1.0
UNLOOKED_D = 14.0  # our choice where nobody wrote when the wheel was last clean: two rounds a month are the least


@dataclass(frozen=True, slots=True)
class Window:
    """A span of time [ms since 1970 UTC], from inclusive, to exclusive."""

    from_ms: int
    to_ms: int

    @property
    def days(self) -> float:
        return (self.to_ms - self.from_ms) / DAY_MS

    def overlap_ms(self, other: "Window") -> int:
        return max(0, min(self.to_ms, other.to_ms) - max(self.from_ms, other.from_ms))


def window_before(clean_ms: int | None, seen_ms: int, short_d: float, long_d: float) -> Window:
    """Where the cause of a rind note lies in time.

    Args:
        clean_ms: when the wheel was last looked at and clean [ms]; None where nobody knows (then two weeks are taken).
        seen_ms: when the note was first seen [ms].
        short_d, long_d: how long such a note takes to show after its cause [d].
    Returns:
        From `long_d` before it was last clean to `short_d` before it was seen.
    Raises:
        ValueError: seen before it was clean, or a lead time that is negative or the wrong way round.
    Source: our choice (design, Look-back). What began after the look and shows at once, and what began `long_d` before
        a look that found nothing, both lie inside.
    """
    if not 0 <= short_d <= long_d:
        raise ValueError(f"short_d must be from 0 to long_d {long_d:g} d, got {short_d:g}")
    if clean_ms is not None and clean_ms > seen_ms:
        raise ValueError(f"clean_ms must be at most seen_ms {seen_ms}, got {clean_ms}")
    clean = seen_ms - round(UNLOOKED_D * DAY_MS) if clean_ms is None else clean_ms
    begin, end = clean - round(long_d * DAY_MS), seen_ms - round(short_d * DAY_MS)
    return Window(min(begin, end - round(LEAST_DAYS * DAY_MS)), end)


def season_of(at_ms: Millis) -> npt.NDArray[np.int64]:
    """The calendar quarter of each time: 0 December to February, 1 March to May, and so on; shape (n,)."""
    month = at_ms.astype("datetime64[ms]").astype("datetime64[M]").astype(np.int64) % 12
    return np.asarray((month + 1) % 12 // 3, dtype=np.int64)


@dataclass(frozen=True, slots=True)
class Stretches:
    """All windows of one length in a record.

    Args:
        start_ms: where each begins, rising, shape (w,). length_ms: of all of them.
        known: share of each that readings speak for, shape (w,).
        by_name: each exposure in each window, shape (w,); NaN where it cannot be had.
        record: the exposures that they were cut from.
    """

    start_ms: Millis
    length_ms: int
    known: Values
    by_name: dict[str, Values]
    record: Hours

    def __len__(self) -> int:
        return len(self.start_ms)

    def fit(self, least_known: float = LEAST_KNOWN) -> npt.NDArray[np.bool_]:
        """Which of them have readings enough to be compared with."""
        return self.known >= least_known


def stretches(hours: Hours, length_ms: int, at_ms: int | None = None, stride_h: int = STRIDE_H) -> Stretches:
    """Every window of a length in a record.

    Args:
        hours: exposures of the place. length_ms: of a window; taken to the nearest hour, at least one.
        at_ms: only the one window that begins here (to the nearest hour) instead of all.
        stride_h: hours from one to the next.
    Returns:
        `Stretches`, none where the record is shorter. Hours too damp and the like are scaled from the time known to the
        whole window, so that a gap counts as unknown and not as good air.
    Source: our choice.
    """
    length, record = max(1, round(length_ms / HOUR_MS)), hours
    if at_ms is None:
        first = np.arange(0, len(hours) - length + 1, stride_h, dtype=np.int64)
    else:
        place = round((at_ms - int(hours.start_ms[0])) / HOUR_MS) if len(hours) else -1
        there = 0 <= place <= len(hours) - length
        hours = hours.cut(place, place + length) if there else hours
        first = np.zeros(int(there), dtype=np.int64)
    known = _window_sum(hours.known_h, first, length)
    found = {name: _over(name, value, hours.known_h, first, length) for name, value in hours.by_name.items()}
    return Stretches(hours.start_ms[first], length * HOUR_MS, known / length, found, record)


def _over(name: str, value: Values, known_h: Values, first: npt.NDArray[np.int64], length: int) -> Values:
    over = BY_NAME[name].over
    if over == "largest":
        return _window_max(value, first, length)
    time = np.where(np.isnan(value), 0.0, known_h)
    total, seen = (_window_sum(a, first, length) for a in (time * np.nan_to_num(value), time))
    mean = np.full(len(first), np.nan)
    np.divide(total, seen, out=mean, where=seen > 1e-6)
    return mean * length if over == "sum" else mean


def _window_sum(value: Values, first: npt.NDArray[np.int64], length: int) -> Values:
    total = np.concatenate([[0.0], np.cumsum(value)])
    return np.asarray(total[first + length] - total[first])


def _window_max(value: Values, first: npt.NDArray[np.int64], length: int) -> Values:
    """By doubling: the largest of 1, 2, 4... hours, of which two cover any window."""
    best = np.where(np.isnan(value), -np.inf, value)
    reach = 1
    while reach * 2 <= length:
        best = np.maximum(best[: len(best) - reach], best[reach:])
        reach *= 2
    largest = np.maximum(best[first], best[first + length - reach]) if len(first) else np.empty(0)
    return np.where(np.isneginf(largest), np.nan, largest)


@dataclass(frozen=True, slots=True)
class Against:
    """What a window is compared with: `rows` of its stretches that may be taken, and why those.

    Args:
        rows: shape (w,). season: the quarter that both sides come from, or "" for the whole record.
        record_d: length of the record.
    """

    rows: npt.NDArray[np.bool_]
    season: str
    record_d: float


def against(found: Stretches, window: Window, record_d: float, there: Sequence[Window] = ()) -> Against:
    """Which windows stand against one.

    Args:
        found: all windows of its length. window: the one that is asked about.
        record_d: how long this place has a record [d].
        there: when wheels stood there; a window without any is no comparison. () takes all.
    Returns:
        Those with readings enough whose middle lies in the same season of any year, once two years are on record, else
        those of the whole record. The window itself is among them; whoever ranks leaves out what overlaps it.
    Source: fixed strata: Lumley and Levy, Environmetrics 11:689 (2000).
    """
    middle = found.start_ms + found.length_ms // 2
    rows = found.fit()
    if there:
        rows &= np.any([(middle >= span.from_ms) & (middle < span.to_ms) for span in there], axis=0)
    if record_d < STRATA_FROM_D:
        return Against(rows, "", record_d)
    own = int(season_of(np.array([(window.from_ms + window.to_ms) // 2]))[0])
    return Against(rows & (season_of(middle) == own), SEASONS[own], record_d)


def apart_from(found: Stretches, window: Window) -> npt.NDArray[np.bool_]:
    """Which windows do not overlap one, shape (w,)."""
    return (found.start_ms >= window.to_ms) | (found.start_ms + found.length_ms <= window.from_ms)


def how_many_apart(found: Stretches, rows: npt.NDArray[np.bool_]) -> int:
    """How many of these windows fit beside each other without overlapping."""
    count, free_from = 0, -(2**62)
    for start in found.start_ms[rows].tolist():
        if start >= free_from:
            count, free_from = count + 1, start + found.length_ms
    return count
