"""The air of a place over any time as few points; read year by year, so that ten need no more memory than one."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from collector.air.model import STEP_MS, Air, Origin
from collector.air.read import AirReader
from collector.moist_air import dew_point_c
from collector.readings.model import Millis, Values
from collector.rules.dew_margin import measured_air
from dashboard.charts.reduce import Line, joined, reduce_course, reduce_values
from dashboard.charts.spans import DAY_MS, Window

PIECE_MS = 400 * DAY_MS  # our choice: a year in one go; its arrays take some fifteen megabytes for a moment


@dataclass(frozen=True, slots=True)
class AirCourse:
    """The air of a place, point by point; temperatures [degC], humidity [%].

    Args:
        start_ms: beginning of each point's time, shape (m,). bucket_ms: its length.
        temperature, humidity: where it was measured in the place itself.
        dew_point: of the measured air, derived step by step. surface: of a ceiling or wall, None without a probe on it.
        other_temperature, other_humidity: where the room around or an assumption stands in.
        probes: whose readings these are.
    """

    start_ms: Millis
    bucket_ms: int
    temperature: Line
    humidity: Line
    dew_point: Line
    surface: Line | None
    other_temperature: Line
    other_humidity: Line
    probes: tuple[str, ...]


def air_course(reader: AirReader, place_id: str, shown: Window) -> AirCourse:
    """The air of a place within a window, reduced to the window's buckets."""
    per = shown.bucket_ms // STEP_MS
    parts = [_reduced(reader.air(place_id, start, end), per) for start, end in pieces_of(shown)]
    return AirCourse(
        start_ms=np.concatenate([part.start_ms for part in parts]),
        bucket_ms=shown.bucket_ms,
        temperature=joined([part.temperature for part in parts]),
        humidity=joined([part.humidity for part in parts]),
        dew_point=joined([part.dew_point for part in parts]),
        surface=_joined_surface(parts),
        other_temperature=joined([part.other_temperature for part in parts]),
        other_humidity=joined([part.other_humidity for part in parts]),
        probes=tuple(dict.fromkeys(probe for part in parts for probe in part.probes)),
    )


def pieces_of(shown: Window) -> Iterator[tuple[int, int]]:
    """Stretches of whole buckets that cover the window."""
    length = max(1, PIECE_MS // shown.bucket_ms) * shown.bucket_ms
    for start in range(shown.start_ms, shown.to_ms, length):
        yield start, min(start + length, shown.to_ms)


def _reduced(air: Air, per: int) -> AirCourse:
    temperature, humidity = air.temperature_c, air.humidity_pct
    own_t, own_h = temperature.origin <= Origin.TYPED, humidity.origin <= Origin.TYPED
    dew = _dew_point_c(air)
    return AirCourse(
        start_ms=air.start_ms[::per],
        bucket_ms=per * STEP_MS,
        temperature=reduce_course(temperature, own_t, per),
        humidity=reduce_course(humidity, own_h, per),
        dew_point=reduce_values(dew, np.minimum(temperature.known, humidity.known), per),
        surface=None if air.surface_c is None else reduce_course(air.surface_c, np.ones(len(air), dtype=bool), per),
        other_temperature=reduce_course(temperature, ~own_t, per),
        other_humidity=reduce_course(humidity, ~own_h, per),
        probes=air.sources,
    )


def _dew_point_c(air: Air) -> Values:
    temperature, humidity = measured_air(air)
    return np.asarray(dew_point_c(temperature, humidity))


def _joined_surface(parts: list[AirCourse]) -> Line | None:
    if all(part.surface is None for part in parts):
        return None
    return joined([part.surface or _nothing(len(part.start_ms)) for part in parts])


def _nothing(n: int) -> Line:
    unknown = np.full(n, np.nan)
    return Line(unknown, unknown, unknown, np.zeros(n))
