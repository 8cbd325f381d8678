"""How densely the spells of an exposure begin in a window, beside the whole record; pure.

A window before a note is where the cause may have begun. An exposure that is the cause tells by spells that begin
there: of a day, some days or a week, above what is usual here. Nobody knows which spells harm, so all are tried.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from collector.readings.model import Values
from dashboard.lookback.exposures import BY_NAME, Hours
from dashboard.lookback.windows import STRIDE_H

SPANS_H = (24, 72, 168)  # our choice: harm within a day, some days or a week
LEVELS = (0.3, 0.6, 0.8, 0.9, 0.95)  # our choice: above what the air was for such a share of the time
# Our choice: thirst is felt slowly and needs no extreme. Short and strong it is what too dry and too warm say already;
# tried by the same spans and levels as those, it took a sixth of their planted causes from them.
THIRST, THIRST_SPANS_H, THIRST_LEVELS = "mean_deficit_pa", (168, 336), (0.3, 0.6, 0.8)

FFT_STEP = 256  # lengths that are a multiple of it are transformed fast


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


@dataclass(frozen=True, slots=True)
class Spells:
    """The spells of a record, ready to be weighed at many places.

    Args:
        begun: what `spells_of` gives, one kind a row, shape (k, h).
        usual: the mean of each kind, shape (k, 1); what lies beyond the record counts as that.
        phases: of each kind without its mean, every `STRIDE_H`-th hour from each of the first hours on, transformed,
            shape (k, STRIDE_H, f). room: how many such steps were transformed, zeros after the record's own.
    """

    begun: Values
    usual: Values
    phases: npt.NDArray[np.complex128]
    room: int

    def weighed(self, weights: Values, first: int, count: int) -> Values:
        """The weighted mean of what begins, the weights laid along the record every `STRIDE_H` hours.

        Args:
            weights: hour by hour, sum 1, shape (l,) of at most what `all_spells` was told.
            first: the hour of the record at which the first weight lies in the first place, -l to h. count: of places.
        Returns:
            Shape (k, count).
        Source: a correlation, by the Fourier transform of each of the `STRIDE_H` phases.
        """
        step, phase = divmod(first, STRIDE_H)
        own = _phases(np.concatenate([np.zeros(phase), weights])[None, :], self.room)[0]
        every = np.fft.irfft((self.phases * np.conj(own)).sum(axis=1), self.room)
        places = (step + np.arange(count)) % self.room
        return np.asarray(np.maximum(every[:, places] + self.usual, 0.0))

    def weighed_at(self, weights: Values, first: int) -> Values:
        """The same at one hour, which need not be one of those places; shape (k,)."""
        hours = first + np.arange(len(weights))
        there = (hours >= 0) & (hours < self.begun.shape[1])
        inside = self.begun[:, hours[there]] @ weights[there]
        return np.asarray(inside + self.usual[:, 0] * weights[~there].sum())


def all_spells(hours: Hours, name: str, longest_h: int) -> Spells:
    """The spells of an exposure in a record, for weights of up to so many hours; of no kind where it is too short."""
    found = list(spells_of(hours, name))
    spells = np.stack(found) if found else np.empty((0, len(hours)))
    usual = spells.mean(axis=1, keepdims=True)
    steps = -(-spells.shape[1] // STRIDE_H) - (-longest_h // STRIDE_H) + 2
    room = -(-steps // FFT_STEP) * FFT_STEP
    return Spells(spells, usual, _phases(spells - usual, room), room)


def _phases(value: Values, room: int) -> npt.NDArray[np.complex128]:
    """Every `STRIDE_H`-th of each row, from each of the first on, transformed; shape (k, STRIDE_H, f)."""
    padded = np.zeros((len(value), room * STRIDE_H))
    padded[:, : value.shape[1]] = value
    return np.asarray(np.fft.rfft(padded.reshape(len(value), room, STRIDE_H), axis=1).transpose(0, 2, 1))
