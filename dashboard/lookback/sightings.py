"""When the cause of a rind note may have begun, hour by hour, from all wheels that show it; pure.

A window says only where to look. Within it some hours fit better than others, and what several wheels showed at
different times fits fewer hours than what one did.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from collector.readings.model import Millis, Values
from dashboard.lookback.windows import DAY_MS, Window

LATE = 0.1  # our choice: one note in ten takes longer than such notes are said to take,
LATER = 1.5  # ... by half at the most
SLIPS = 0.01  # our choice: what a note that fits nowhere still leaves; else one wrong date would overrule all others


@dataclass(frozen=True, slots=True)
class Sighting:
    """One wheel's note: last seen clean, first seen with it, and how long such a note takes to show.

    Args:
        window: where its cause may lie. clean_ms, seen_ms: ms since 1970 UTC.
        short_d, long_d: 0 <= short_d <= long_d [d].
    """

    window: Window
    clean_ms: int
    seen_ms: int
    short_d: float
    long_d: float

    def fits(self, at_ms: Millis) -> Values:
        """How likely a cause that began at each time shows between the two looks, 0..1; shape as `at_ms`.

        Source: our choice; any time that such a note takes to show is as likely as any other, `LATE` ones apart.
        """
        late = self._share(at_ms, self.short_d * LATER, self.long_d * LATER)
        return (1 - LATE) * self._share(at_ms, self.short_d, self.long_d) + LATE * late

    def _share(self, at_ms: Millis, short_d: float, long_d: float) -> Values:
        short, long = short_d * DAY_MS, max(long_d, short_d + 1 / 24) * DAY_MS
        least, most = np.maximum(self.clean_ms - at_ms, short), np.minimum(self.seen_ms - at_ms, long)
        return np.asarray(np.maximum(most - least, 0.0) / (long - short))


def when_begun(sightings: Sequence[Sighting], at_ms: Millis) -> Values:
    """How likely the cause of all of them began at each time; sums to 1, 0 outside of all windows; shape (h,).

    Args:
        sightings: the notes of one episode, at least one.
        at_ms: times in order.
    Returns:
        As above; 0 everywhere where no time lies in a window.
    Source: Bayes, with every time as likely beforehand and wheels that show a spell each in its own time.
    """
    inside = (at_ms >= min(s.window.from_ms for s in sightings)) & (at_ms < max(s.window.to_ms for s in sightings))
    likely = np.sum([np.log(one.fits(at_ms) + SLIPS) for one in sightings], axis=0)
    weight = np.where(inside, np.exp(likely - likely.max(where=inside, initial=-np.inf)), 0.0)
    total = weight.sum()
    return np.asarray(weight / total) if total > 0 else np.zeros(len(at_ms))
