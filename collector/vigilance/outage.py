"""After an outage: how long nothing was measured, and how each place took it."""

import sqlite3
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any

import numpy as np

from collector.air.channel import TYPED_PREFIX, calibrated_series
from collector.air.read import AirReader
from collector.readings.model import Millis, Values
from collector.readings.reader import series
from collector.records.columns import to_ms
from collector.records.facts import Facts
from collector.vigilance.silence import OUTAGE_LEAST_MS

SETTLES_FOR = timedelta(minutes=30)
LOOKS_AFTER = tuple(timedelta(minutes=m) for m in (2, 10, 20, 28))
TURNED_K = 0.3  # our choice: three times what a good probe's reading wanders
AROUND_MS = 2 * 3_600_000
MOST_READINGS = 50_000  # of one channel; a gap is found well before


@dataclass
class Outage:
    """One that is over and still being looked at; the message about it waits so long.

    Args:
        warning_id: its warning. from_ms, to_ms: when messages stopped and began again. back_at: the same as a time.
    """

    warning_id: str
    from_ms: int
    to_ms: int
    back_at: datetime
    looks: list[timedelta] = field(default_factory=lambda: list(LOOKS_AFTER))

    def due(self, now: datetime) -> bool:
        """Whether it is time for another look."""
        is_due = bool(self.looks) and now >= self.back_at + self.looks[0]
        while self.looks and now >= self.back_at + self.looks[0]:
            self.looks.pop(0)
        return is_due

    @property
    def settled(self) -> bool:
        return not self.looks


def look_back(readings: sqlite3.Connection, facts: Facts, outage: Outage, now: datetime) -> dict[str, Any]:
    """Facts of an outage as they are known now.

    Returns:
        from_ms and to_ms of the time without any measurement (None, and caught_up, when probes kept what they
        measured and sent it later); places, those with a temperature since.
    """
    reader = AirReader(readings, facts)
    gap = longest_gap(_taken(reader, outage), outage.from_ms, outage.to_ms)
    caught_up = gap[1] - gap[0] < OUTAGE_LEAST_MS
    return {
        "from_ms": None if caught_up else gap[0],
        "to_ms": None if caught_up else gap[1],
        "caught_up": caught_up,
        "places": [] if caught_up else list(_places(reader, outage, to_ms(now))),
    }


def _taken(reader: AirReader, outage: Outage) -> Millis:
    """When anything was measured around the outage, by the probes' own times."""
    found: set[int] = set()
    query = "SELECT taken_ms FROM reading WHERE channel=? AND taken_ms>=? AND taken_ms<=? ORDER BY taken_ms LIMIT ?"
    for channel in reader.channels():
        placed = reader.facts.placement_at(channel.probe, channel.field, outage.back_at)
        if placed is None or placed.place_id is None or channel.probe.startswith(TYPED_PREFIX):
            continue
        span = (outage.from_ms - AROUND_MS, outage.to_ms + AROUND_MS)
        found.update(row[0] for row in reader.db.execute(query, (channel.id, *span, MOST_READINGS)))
    return np.array(sorted(found), dtype=np.int64)


def longest_gap(taken_ms: Millis, from_ms: int, to_ms_: int) -> tuple[int, int]:
    """The longest time without a reading that touches a span.

    Args:
        taken_ms: when readings were taken, rising. from_ms, to_ms_: the span in which no message came.
    Returns:
        (last reading before, first after) [ms]; the span itself where nothing was taken around it.
    """
    before = taken_ms[taken_ms <= from_ms]
    start = int(before[-1]) if len(before) else from_ms
    after = taken_ms[taken_ms >= to_ms_]
    end = int(after[0]) if len(after) else to_ms_
    inside = taken_ms[(taken_ms > start) & (taken_ms < end)]
    edges = np.concatenate([[start], inside, [end]])
    longest = int(np.argmax(np.diff(edges)))
    return int(edges[longest]), int(edges[longest + 1])


def _places(reader: AirReader, outage: Outage, now_ms: int) -> Iterable[dict[str, Any]]:
    for place in reader.facts.open_places():
        if place.kind == "outside":
            continue
        best: tuple[Millis, Values] | None = None
        for channel in reader.channels():
            held = reader.roles(channel, place.id, outage.to_ms, now_ms).get("temperature")
            if not held or channel.probe.startswith(TYPED_PREFIX):
                continue
            found = calibrated_series(series(reader.db, channel.id, outage.to_ms, now_ms + 1), held)
            if len(found) and (best is None or len(found) > len(best[0])):
                best = (found.taken_ms, found.value)
        if best is not None:
            yield {"place_id": place.id} | took_it(best[0], best[1].tolist())


def took_it(taken_ms: Millis, value: Sequence[float]) -> dict[str, Any]:
    """How a place's temperature went since it came back.

    Args:
        taken_ms: rising, at least one. value: [degC], the same number.
    Returns:
        back_c, last_c; course: cooling, warming or steady; turned_ms: since when it cools, None unless it does.
    Source: our choice of what counts as turned, see TURNED_K.
    """
    values = np.asarray(value, dtype=float)
    highest, lowest = int(np.argmax(values)), int(np.argmin(values))
    back, last = float(values[0]), float(values[-1])
    course, turned = "steady", None
    if float(values[highest]) - last >= TURNED_K:
        course, turned = "cooling", int(taken_ms[highest])
    elif last - float(values[lowest]) >= TURNED_K:
        course = "warming"
    return {"back_c": round(back, 2), "last_c": round(last, 2), "course": course, "turned_ms": turned}
