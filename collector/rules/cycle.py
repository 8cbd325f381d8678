"""The cooler's cycle in the raw temperature: length, share of time cooling, swing; and how often a door opens; pure.

A cooler shows itself as a saw: down while it cools, up while it rests. Turning points are found by a hysteresis: a
peak counts once the temperature has fallen from it by a good part of the usual swing. What is found in a day depends
on that day's readings only. A probe lags behind the air, which shifts the turns alike and leaves length and share as
they are, but flattens the swing.
"""

from dataclasses import dataclass

import numpy as np

from collector.readings.model import Mark, Millis, Series, Values

BLOCK_MS = 2 * 3_600_000  # our choice: long enough for one cycle of a fridge, short enough to leave weather out
LEAST_SWING_K = 0.3  # our choice: below it the noise of a probe (0.1 K) turns up and down by itself
TURN_SHARE = 0.4  # of the usual range in two hours: our choice, so that a hesitation is no turn
LEAST_READINGS = 6  # in a cycle: with fewer its turns cannot be told
GAP_TIMES = 5  # a gap of so many usual intervals hides turns


@dataclass(frozen=True, slots=True)
class Turns:
    """Turning points in order of time, shape (n,): when, at what temperature, and whether it is a peak."""

    at_ms: Millis
    temperature_c: Values
    peak: np.typing.NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Cycles:
    """Whole cycles from one peak to the next, shape (n,) each.

    Args:
        start_ms: when the cooling began.
        length_min: to the next beginning of cooling [min].
        duty: share of the cycle spent cooling, 0..1.
        swing_k: from the peak to the trough [K].
    """

    start_ms: Millis
    length_min: Values
    duty: Values
    swing_k: Values

    def __len__(self) -> int:
        return len(self.start_ms)


NO_CYCLES = Cycles(np.empty(0, dtype=np.int64), np.empty(0), np.empty(0), np.empty(0))


def air_readings(raw: Series) -> tuple[Millis, Values]:
    """Times and values of the readings whose time is true: what queued while we were away would draw false turns."""
    keep = ((raw.mark & Mark.AT_THE_LATEST) == 0) & ~np.isnan(raw.value)
    return raw.taken_ms[keep], raw.value[keep]


def usual_range_k(taken_ms: Millis, temperature_c: Values) -> float:
    """The usual range within two hours [K]: a door or the weather does not raise it, a steady cycle is it.

    Args:
        taken_ms: times, rising, shape (n,) [ms]. temperature_c: shape (n,), without NaN.
    Returns:
        Median over blocks of two hours of the highest less the lowest reading, 0 without readings.
    """
    if len(taken_ms) == 0:
        return 0.0
    block = taken_ms // BLOCK_MS
    starts = np.flatnonzero(np.concatenate([[True], np.diff(block) > 0]))
    ranges = np.maximum.reduceat(temperature_c, starts) - np.minimum.reduceat(temperature_c, starts)
    return float(np.median(ranges))


def turning_points(taken_ms: Millis, temperature_c: Values, threshold_k: float) -> Turns:
    """Peaks and troughs that are told apart by at least a threshold.

    Args:
        taken_ms: times, rising, shape (n,) [ms]. temperature_c: shape (n,), without NaN.
        threshold_k: how far the temperature must come back from an extreme for it to be a turn [K], above 0.
    Returns:
        Turns, peaks and troughs in alternation; the extremes at both ends of the readings are no turns.
    Raises:
        ValueError: a threshold not above 0.
    Source: our choice, the usual dead-band search for extremes.
    """
    if not threshold_k > 0:
        raise ValueError(f"threshold_k must be above 0 K, got {threshold_k:g}")
    found = _search(temperature_c.tolist(), threshold_k)
    index = np.array([i for i, _ in found], dtype=np.int64)
    return Turns(taken_ms[index], temperature_c[index], np.array([peak for _, peak in found], dtype=bool))


def _search(values: list[float], threshold: float) -> list[tuple[int, bool]]:
    turns: list[tuple[int, bool]] = []
    high = low = 0
    rising: bool | None = None
    for i, value in enumerate(values):
        if value > values[high]:
            high = i
        if value < values[low]:
            low = i
        if rising is not False and values[high] - value >= threshold:
            turns += [(high, True)] if rising else []
            rising, low, high = False, i, i
        elif rising is not True and value - values[low] >= threshold:
            turns += [(low, False)] if rising is False else []
            rising, low, high = True, i, i
    return turns


def find_cycles(taken_ms: Millis, temperature_c: Values) -> Cycles:
    """The cooler's cycles in a stretch of readings.

    Args:
        taken_ms: times, rising, shape (n,) [ms]. temperature_c: calibrated [degC], shape (n,), without NaN.
    Returns:
        Cycles that lie wholly in the stretch; none where the temperature keeps too still (below 0.3 K in two hours),
        is read too seldom (fewer than six times in a cycle), or where a gap hides a turn.
    """
    swing_k = usual_range_k(taken_ms, temperature_c)
    if swing_k < LEAST_SWING_K or len(taken_ms) < 2 * LEAST_READINGS:
        return NO_CYCLES
    turns = turning_points(taken_ms, temperature_c, TURN_SHARE * swing_k)
    first = int(np.argmax(turns.peak)) if turns.peak.any() else len(turns.peak)
    count = max(0, (len(turns.at_ms) - first - 1) // 2)
    start = first + 2 * np.arange(count)
    begin_ms, trough_ms, end_ms = (turns.at_ms[start + k] for k in range(3))
    cycles = Cycles(
        start_ms=begin_ms,
        length_min=(end_ms - begin_ms) / 60_000,
        duty=(trough_ms - begin_ms) / (end_ms - begin_ms),
        swing_k=turns.temperature_c[start] - turns.temperature_c[start + 1],
    )
    return _seen_well(cycles, end_ms, taken_ms)


def _seen_well(cycles: Cycles, end_ms: Millis, taken_ms: Millis) -> Cycles:
    gaps = np.diff(taken_ms)
    wide = np.flatnonzero(gaps > GAP_TIMES * np.median(gaps))
    begin, end = np.searchsorted(taken_ms, cycles.start_ms), np.searchsorted(taken_ms, end_ms)
    unbroken = np.searchsorted(wide, begin) == np.searchsorted(wide, end)
    keep = unbroken & (end - begin >= LEAST_READINGS)
    return Cycles(cycles.start_ms[keep], cycles.length_min[keep], cycles.duty[keep], cycles.swing_k[keep])


def door_openings(taken_ms: Millis, opened: Values) -> tuple[Millis, Values]:
    """When a door was opened, and for how long.

    Args:
        taken_ms: times of a door contact's readings, rising, shape (n,) [ms].
        opened: 1 open, 0 closed, shape (n,); NaN is left out.
    Returns:
        (times of opening [ms], minutes open, NaN while it is open still), shape (k,) each. A door that was open at
        the first reading counts from there.
    """
    known = ~np.isnan(opened)
    at_ms, is_open = taken_ms[known], opened[known] >= 0.5
    before = np.concatenate([[False], is_open[:-1]]) if len(is_open) else is_open
    begins, ends = at_ms[is_open & ~before], at_ms[~is_open & before]
    minutes = np.full(len(begins), np.nan)
    minutes[: len(ends)] = (ends - begins[: len(ends)]) / 60_000
    return begins, minutes


def counted(at_ms: Millis, edges_ms: Millis) -> Millis:
    """How many of the times fall between each two edges, shape (m,) for (m + 1,) rising edges."""
    return np.asarray(np.diff(np.searchsorted(at_ms, edges_ms)), dtype=np.int64)
