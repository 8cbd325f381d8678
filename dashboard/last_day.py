"""The air of the last day of each place, kept in memory for as long as nothing in it has changed."""

from collections.abc import Sequence
from dataclasses import dataclass
from threading import Lock

import numpy as np

from collector.air.model import STEP_MS, Air
from collector.air.read import AirReader
from collector.readings.model import Values
from collector.readings.reader import consumed
from collector.readings.rollups import CONSUMER
from collector.rules.dew_margin import Margin, drip_margin, sweat_margin
from collector.rules.hourly import hourly_mean

DAY_STEPS = 144
# The slow mean of a wheel's warmth is known well enough to be shown from some hours on; the margin's range over the
# day then lacks the first two of its hours, which nobody can see on a strip.
RUN_IN_STEPS = 12
DAY_MS = (DAY_STEPS + RUN_IN_STEPS) * STEP_MS
MOST_PLACES = 200


@dataclass(frozen=True, slots=True)
class MarginNow:
    """What is left above the dew point [K]: now, how sure that is, and its range over the day."""

    now_k: float
    u_k: float
    lowest_k: float
    highest_k: float


@dataclass(frozen=True, slots=True)
class LastDay:
    """The air of a day.

    Args:
        air: with a run-in; steps from `day_from` on are the day's.
        hour_c, hour_pct: means of the last hour, or of the last step where no time is covered; None where unknown.
        wheels, wall: what is left above the dew point; None where it is not known now.
    """

    air: Air
    day_from: int
    hour_c: float | None
    hour_pct: float | None
    wheels: MarginNow | None
    wall: MarginNow | None


class LastDays:
    """Last days by place. Every change of readings that the rollups have taken in ends what it touches."""

    def __init__(self) -> None:
        self._lock = Lock()
        self._seen = 0
        self._marks: dict[int, int] = {}
        self._kept: dict[str, tuple[object, LastDay]] = {}

    def of(self, reader: AirReader, place_id: str, now_ms: int, facts_revision: int) -> LastDay:
        """The last day of a place.

        Args:
            reader: knows the channels that have to do with the place, and no others.
            facts_revision: grows with every change of what is known of places and probes.
        """
        end = now_ms // STEP_MS
        numbers = [channel.id for channel in reader.channels()]
        doubts = tuple((number, tuple(reader.doubts.get(number, ()))) for number in numbers)
        key = (end, facts_revision, tuple(self.marks(reader, numbers)), doubts)
        kept = self._kept.get(place_id)
        if kept is not None and kept[0] == key:
            return kept[1]
        made = last_day(reader.air(place_id, end * STEP_MS - DAY_MS, now_ms))
        with self._lock:
            if len(self._kept) >= MOST_PLACES:
                self._kept.clear()
            self._kept[place_id] = (key, made)
        return made

    def marks(self, reader: AirReader, numbers: Sequence[int]) -> list[int]:
        """For each channel the number of its last change that is in the rollups."""
        with self._lock:
            self._follow(reader)
            return [self._marks.get(number, 0) for number in numbers]

    def _follow(self, reader: AirReader) -> None:
        taken_in = consumed(reader.db, CONSUMER)
        if taken_in == self._seen:
            return
        rows = reader.db.execute(
            "SELECT channel, max(seq) FROM change WHERE seq>? AND seq<=? GROUP BY channel", (self._seen, taken_in)
        ).fetchall()
        oldest = reader.db.execute("SELECT min(seq) FROM change").fetchone()[0]
        # Entries that were dropped unseen, or another database under the same name: nothing kept can be trusted.
        if taken_in < self._seen or oldest is None or oldest > self._seen + 1 or any(row[0] is None for row in rows):
            self._kept.clear()
        self._marks.update({int(channel): int(seq) for channel, seq in rows if channel is not None})
        self._seen = taken_in


def last_day(air: Air) -> LastDay:
    """What is shown of a day's air."""
    day_from = max(0, len(air) - DAY_STEPS)
    return LastDay(
        air,
        day_from,
        _last_hour(air.temperature_c.mean, air.temperature_c.known),
        _last_hour(air.humidity_pct.mean, air.humidity_pct.known),
        _margin(sweat_margin(air, u_from=len(air) - 1), day_from),
        _margin(drip_margin(air), day_from),
    )


def _last_hour(mean: Values, known: Values) -> float | None:
    """The mean of the last hour; where no time is covered (an assumed air) the last step."""
    hour = hourly_mean(mean[-12:], known[-12:])[-1]
    value = hour if not np.isnan(hour) else mean[-1]
    return None if np.isnan(value) else float(value)


def _margin(margin: Margin, day_from: int) -> MarginNow | None:
    if len(margin.k) == 0 or np.isnan(margin.k[-1]):
        return None
    day = margin.k[day_from:]
    return MarginNow(float(margin.k[-1]), float(margin.u_k[-1]), float(np.nanmin(day)), float(np.nanmax(day)))
