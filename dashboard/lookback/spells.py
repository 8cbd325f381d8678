"""How densely the spells of an exposure begin in a window, beside the whole record; pure.

A window before a note is where the cause may have begun. An exposure that is the cause tells by spells that begin
there: of a day, some days or a week, above what is usual here. Nobody knows which spells harm, so all are tried.
"""

from collections.abc import Iterator

import numpy as np
import numpy.typing as npt

from collector.readings.model import Values
from dashboard.lookback.exposures import BY_NAME, Hours

SPANS_H = (24, 72, 168)  # our choice: harm within a day, some days or a week
LEVELS = (0.3, 0.6, 0.8, 0.9, 0.95)  # our choice: above what the air was for such a share of the time
# Our choice: thirst is felt slowly and needs no extreme. Short and strong it is what too dry and too warm say already;
# tried by the same spans and levels as those, it took a sixth of their planted causes from them.
THIRST, THIRST_SPANS_H, THIRST_LEVELS = "mean_deficit_pa", (168, 336), (0.3, 0.6, 0.8)

FFT_STEP = 1024  # lengths that are a multiple of it are transformed fast


def spells_of(hours: Hours, name: str) -> Iterator[Values]:
    """How much of a spell begins at each hour, for each span and level.

    Args:
        hours: exposures of the place. name: which of them.
    Returns:
        Arrays of shape (h,): by how much the exposure, over the span that begins with the hour, lies above the level
        that it keeps to for a share of the record. Spans longer than the record are left out; an hour without readings
        counts as the middle one.
    Source: our choice, tried on planted caves of other seeds and other air than those that mark the method.
    """
    value = hours.by_name[name]
    value = np.where(np.isnan(value), np.nanmedian(value), value)
    spans, levels = (THIRST_SPANS_H, THIRST_LEVELS) if name == THIRST else (SPANS_H, LEVELS)
    for span in spans:
        if span >= len(value):
            return
        over = _largest(value, span) if BY_NAME[name].over == "largest" else _mean(value, span)
        for level in np.quantile(over, levels):
            yield np.maximum(over - level, 0.0)


def _mean(value: Values, span: int) -> Values:
    """Of the hours from each on; beyond the record's end as in its middle."""
    total = np.concatenate([[0.0], np.cumsum(np.concatenate([value, np.full(span, value.mean())]))])
    return np.asarray((total[span:] - total[:-span])[: len(value)] / span)


def _largest(value: Values, span: int) -> Values:
    padded = np.concatenate([value, np.full(span - 1, value.min())])
    return np.asarray(np.lib.stride_tricks.sliding_window_view(padded, span).max(axis=1))


def laid(spells: Values, weights: Values, first: npt.NDArray[np.int64]) -> Values:
    """The weighted mean of what begins, the weights laid along the record at many places; shape as `first`.

    Args:
        spells: one of `spells_of`. weights: hour by hour, sum 1, shape (l,).
        first: at which hour of the record the first weight lies, -l to h; what lies beyond it counts as its mean.
    """
    n, usual = len(spells), spells.mean()
    room = -(-(n + len(weights)) // FFT_STEP) * FFT_STEP
    every = np.fft.irfft(np.fft.rfft(spells - usual, room) * np.conj(np.fft.rfft(weights, room)), room)
    return np.asarray(np.maximum(every[first % room] + usual, 0.0))
