"""The air of where a wheel was: of each place for as long as it stood there."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from collector.air.model import STEP_MS, Air, Course, unknown_course
from collector.air.read import AirReader
from collector.records.columns import to_ms
from collector.records.facts import Facts
from dashboard.charts.bands import Band, humidity_bands, temperature_bands
from dashboard.wheels.stays import Stay

FIELDS = ("mean", "low", "high", "known", "uncertainty", "origin")


@dataclass(frozen=True, slots=True)
class PlaceSpan:
    """A place from one time to another [ms]."""

    place_id: str
    from_ms: int
    to_ms: int


def place_spans(stays: Sequence[Stay], from_ms: int, to_ms: int, facts: Facts) -> list[PlaceSpan]:
    """Where a wheel was within a window; stretches in a place that is not known are left out."""
    found: list[PlaceSpan] = []
    for stay in stays:
        start = max(to_ms_of(stay, begin=True, else_ms=from_ms), from_ms)
        end = min(to_ms_of(stay, begin=False, else_ms=to_ms), to_ms)
        if stay.place_id not in facts.places or start >= end:
            continue
        if found and found[-1].place_id == stay.place_id and found[-1].to_ms == start:
            start = found.pop().from_ms
        found.append(PlaceSpan(stay.place_id, start, end))
    return found


def to_ms_of(stay: Stay, *, begin: bool, else_ms: int) -> int:
    """An end of a stay [ms]; an open one is what is said."""
    at = stay.from_at if begin else stay.to_at
    return else_ms if at is None else to_ms(at)


@dataclass(frozen=True, slots=True)
class WheelAirReader(AirReader):
    """Answers for the air around one wheel, wherever it stood; the place that is asked for does not matter."""

    stays: tuple[Stay, ...] = ()

    def air(self, place_id: str, from_ms: int, to_ms: int) -> Air:  # noqa: ARG002
        """The air around the wheel on the ten-minute grid; unknown before its first stay and after its last."""
        begin = from_ms // STEP_MS * STEP_MS
        grid = np.arange(begin, max(to_ms, from_ms + 1), STEP_MS, dtype=np.int64)
        temperature, humidity = unknown_course(len(grid)), unknown_course(len(grid))
        sources: set[str] = set()
        for span in place_spans(self.stays, begin, int(grid[-1]) + STEP_MS, self.facts):
            first, after = _steps(span, begin, len(grid))
            if first < after:
                own = AirReader.air(self, span.place_id, int(grid[first]), int(grid[after - 1]) + STEP_MS)
                _put(temperature, own.temperature_c, first, after)
                _put(humidity, own.humidity_pct, first, after)
                sources |= set(own.sources)
        return Air(grid, temperature, humidity, None, tuple(sorted(sources)))


def _steps(span: PlaceSpan, begin: int, length: int) -> tuple[int, int]:
    """The steps whose beginning lies in the span: index of the first, index after the last."""
    first, after = (-(-(end - begin) // STEP_MS) for end in (span.from_ms, span.to_ms))
    return max(first, 0), min(after, length)


def _put(whole: Course, part: Course, first: int, after: int) -> None:
    for name in FIELDS:
        getattr(whole, name)[first:after] = getattr(part, name)[: after - first]


def bands_around(spans: Sequence[PlaceSpan], facts: Facts) -> tuple[tuple[Band, ...], tuple[Band, ...]]:
    """The targets of the places where a wheel stood, while it stood there: of temperature, of humidity."""
    warm = [b for s in spans for b in temperature_bands(facts.targets.get(s.place_id, []), s.from_ms, s.to_ms)]
    damp = [b for s in spans for b in humidity_bands(facts.targets.get(s.place_id, []), s.from_ms, s.to_ms)]
    return tuple(warm), tuple(damp)
