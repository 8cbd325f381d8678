"""How long a reading speaks for the air, and time-weighted means; pure."""

from collections.abc import Sequence
from itertools import pairwise
from statistics import median

import numpy as np

from collector.readings.model import Millis, Values

HOLD_INTERVALS = 3  # a value is held for at most three times its usual interval
USUAL_GAPS = 9  # the usual interval is the median of this many gaps before a reading: our choice, because a
# single outage or a burst then changes nothing and only the next few readings depend on a late one
UNKNOWN_HOLD_MS = 15 * 60_000  # before two readings are there: our choice, the slowest common interval


def usual_gap_ms(taken_ms: Millis) -> Values:
    """The usual interval at each reading: the median of up to nine gaps before it.

    Args:
        taken_ms: times of readings, rising, shape (n,) [ms].
    Returns:
        Shape (n,) [ms]. The first readings, with no gap before them, take the first gap after; one reading
        alone gives NaN.
    Source: our choice, see USUAL_GAPS.
    """
    n = len(taken_ms)
    if n < 2:
        return np.full(n, np.nan)
    gaps = np.diff(taken_ms).astype(float)
    padded = np.concatenate([np.full(USUAL_GAPS, np.inf), gaps])
    windows = np.sort(np.lib.stride_tricks.sliding_window_view(padded, USUAL_GAPS)[1:], axis=1)
    # The first windows are not full: their gaps stand in front, the rest is infinite.
    filled = np.minimum(np.arange(1, n), USUAL_GAPS)
    rows = np.arange(n - 1)
    middle = (windows[rows, (filled - 1) // 2] + windows[rows, filled // 2]) / 2
    return np.concatenate([gaps[:1], middle])


def held_ms(taken_ms: Millis, until_ms: int, at_latest_every_ms: float | None = None) -> Millis:
    """For how long each value may be held.

    Args:
        taken_ms: times of readings, rising, shape (n,) [ms].
        until_ms: where the span ends; the last reading is held at most to here.
        at_latest_every_ms: what a probe that reports on change promises; replaces the usual interval.
    Returns:
        Shape (n,) [ms]: to the next reading, or to the limit, whichever comes first.
    Source: our choice (a value older than three usual intervals says nothing of the air now).
    """
    if len(taken_ms) == 0:
        return np.empty(0, dtype=np.int64)
    to_next = np.append(np.diff(taken_ms), max(0, until_ms - int(taken_ms[-1])))
    if at_latest_every_ms is not None:
        # One missed report is forgiven: the promise is kept to within its own length.
        limit = np.full(len(taken_ms), 2 * at_latest_every_ms)
    else:
        limit = HOLD_INTERVALS * usual_gap_ms(taken_ms)
        limit = np.where(np.isnan(limit), UNKNOWN_HOLD_MS, limit)
    return np.asarray(np.minimum(to_next, limit), dtype=np.int64)


def last_hold_ms(taken_ms: Sequence[int], at_latest_every_ms: float | None = None) -> float:
    """For how long the last reading may be held when nothing comes after it: what `held_ms` says of it, for one alone.

    Args:
        taken_ms: times of the last readings, rising, at least one; ten are enough [ms].
        at_latest_every_ms: what a probe that reports on change promises.
    """
    if at_latest_every_ms is not None:
        return 2 * at_latest_every_ms
    gaps = [after - before for before, after in pairwise(taken_ms[-USUAL_GAPS - 1 :])]
    return HOLD_INTERVALS * median(gaps) if gaps else UNKNOWN_HOLD_MS


def time_weighted(taken_ms: Millis, held: Millis, value: Values, edges_ms: Millis) -> tuple[Values, Millis]:
    """Time-weighted mean of a held value in each bucket.

    Args:
        taken_ms: times, rising, shape (n,). held: how long each value holds, shape (n,) [ms].
        value: shape (n,); a NaN counts as unknown.
        edges_ms: bucket edges, rising, shape (m + 1,).
    Returns:
        (mean, covered): mean NaN where nothing is known, shape (m,); time covered [ms], shape (m,).
    """
    known = ~np.isnan(value)
    start, length, level = taken_ms[known], held[known], value[known]
    covered = _overlap(start, length.astype(float), length, edges_ms)
    total = _overlap(start, level * length, length, edges_ms)
    mean = np.full(len(edges_ms) - 1, np.nan)
    np.divide(total, covered, out=mean, where=covered > 0)
    return mean, np.rint(covered).astype(np.int64)


def spread_within(taken_ms: Millis, held: Millis, value: Values, edges_ms: Millis) -> Values:
    """Time-weighted standard deviation of a held value in each bucket.

    Args:
        taken_ms, held, value, edges_ms: as for `time_weighted`.
    Returns:
        Shape (m,), unit of the value; NaN where nothing is known or a value is too large to be squared.
    Source: the mean of the squares less the square of the mean. Of a span of 40 days some 0.0001 % of a humidity and
        0.1 Pa of a pressure are lost by it. Unlike extremes, and unlike what means of buckets vary by, it is the same
        of a wave however often it is heard.
    """
    with np.errstate(over="ignore", invalid="ignore"):
        mean, _ = time_weighted(taken_ms, held, value, edges_ms)
        square, _ = time_weighted(taken_ms, held, value**2, edges_ms)
        spread = np.sqrt(np.maximum(square - mean**2, 0.0))
    return np.where(np.isfinite(spread), spread, np.nan)


def guessed_spread(low: Values, high: Values, count: Millis) -> Values:
    """The standard deviation within a bucket of which only the extremes are known: as if the values rose evenly.

    Args:
        low, high: extremes, shape (n,), one unit. count: how many readings there were, shape (n,).
    Returns:
        Shape (n,), same unit.
    Source: variance of the discrete uniform distribution, (k + 1) / (k - 1) / 12 of the squared range of k values.
    """
    k = np.maximum(count, 2)
    with np.errstate(over="ignore", invalid="ignore"):
        return np.asarray((high - low) * np.sqrt((k + 1) / (12 * (k - 1))))


def _overlap(start: Millis, amount: Values, length: Millis, edges: Millis) -> Values:
    """How much of amounts spread evenly over [start, start + length) falls between the edges."""
    if len(start) == 0:
        return np.zeros(len(edges) - 1)
    cumulative = np.concatenate([[0.0], np.cumsum(amount)])
    index = np.searchsorted(start, edges, side="right") - 1
    at = np.maximum(index, 0)
    inside = np.clip(edges - start[at], 0, length[at])
    share = np.where(length[at] > 0, inside / np.maximum(length[at], 1), 1.0)
    upto = np.where(index >= 0, cumulative[at] + share * amount[at], 0.0)
    return np.asarray(np.diff(upto), dtype=float)
