"""The longest time without a care: days since turned, looked at, washed; pure."""

from collections.abc import Mapping, Sequence
from itertools import pairwise
from statistics import median

from dashboard.lookback.windows import DAY_MS, Window


def longest_gap_d(done_ms: Sequence[int], window: Window, begun_ms: int | None = None) -> float | None:
    """The longest time within a window that had passed since something was last done.

    Args:
        done_ms: when it was done, in any order. window: the time asked about.
        begun_ms: when the wheel began; it counts as done.
    Returns:
        Days; None where it was never done by the end of the window and nobody knows when the wheel began.
    Source: our choice: at each moment the days since it was last done, and the most of them.
    """
    known = sorted(t for t in (*done_ms, *([begun_ms] if begun_ms is not None else [])) if t < window.to_ms)
    if not known:
        return None
    before = [t for t in known if t <= window.from_ms][-1:]
    times = [*before, *(t for t in known if t > window.from_ms), window.to_ms]
    return max(after - earlier for earlier, after in pairwise(times)) / DAY_MS


def usual_gap_d(
    by_wheel: Mapping[str, Sequence[int]], spans: Mapping[str, Window], windows: Sequence[Window]
) -> float | None:
    """The median over other windows and wheels of `longest_gap_d`.

    Args:
        by_wheel: when it was done to each wheel. spans: when each wheel was there. windows: the others.
    Returns:
        Days; None where no wheel stood through any of the windows.
    """
    found = [
        gap
        for wheel, span in spans.items()
        for window in windows
        if span.from_ms <= window.from_ms and window.to_ms <= span.to_ms
        if (gap := longest_gap_d(by_wheel.get(wheel, ()), window, span.from_ms)) is not None
    ]
    return median(found) if found else None
