"""What a chart of a place's air shows, before anything is said of how it is drawn."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from collector.air.channel import TYPED_PREFIX
from collector.air.read import AirReader
from collector.readings.model import Millis, Values
from dashboard.charts.air_course import AirCourse, air_course
from dashboard.charts.bands import Band, humidity_bands, temperature_bands
from dashboard.charts.doubtful import doubtful_lines
from dashboard.charts.marks import Lane
from dashboard.charts.panels import Panel
from dashboard.charts.raw_lines import RawLine, raw_dew_point, raw_lines, speaking
from dashboard.charts.reduce import Line
from dashboard.charts.spans import Window

Style = Literal["main", "dew", "surface", "probe", "other", "doubtful"]
ROLES: tuple[tuple[str, Panel], ...] = (("temperature", "temperature"), ("humidity", "humidity"))


@dataclass(frozen=True, slots=True)
class Drawn:
    """One line: when and what, shape (n,), NaN where it is broken; `low` and `high` make a ribbon around it.

    Args:
        name: what the legend says. at_ms: times, rising [ms]. value, low, high: [degC] or [%].
        points: drawn as points too, because each is a reading by itself.
    """

    panel: Panel
    style: Style
    name: str
    at_ms: Millis
    value: Values
    low: Values | None = None
    high: Values | None = None
    points: bool = False


@dataclass(frozen=True, slots=True)
class Drawing:
    """Everything on one chart."""

    shown: Window
    lines: tuple[Drawn, ...]
    temperature_bands: tuple[Band, ...]
    humidity_bands: tuple[Band, ...]
    lanes: tuple[Lane, ...]


def drawing(
    reader: AirReader, place_id: str, shown: Window, lanes: Sequence[Lane] = (), course: AirCourse | None = None
) -> Drawing:
    """The air of a place within a window, its targets and what happened; `course` where it was read already."""
    course = course or air_course(reader, place_id, shown)
    raw = raw_lines(reader, place_id, shown) if shown.is_short else None
    if raw is None:
        lines = [*from_course(course, shown), *_doubtful(reader, place_id, course, shown)]
    else:
        lines = from_readings(reader, place_id, course, raw, shown)
    targets = reader.facts.targets.get(place_id, [])
    return Drawing(
        shown,
        tuple(lines),
        tuple(temperature_bands(targets, shown.from_ms, shown.to_ms)),
        tuple(humidity_bands(targets, shown.from_ms, shown.to_ms)),
        tuple(lanes),
    )


def from_course(course: AirCourse, shown: Window) -> list[Drawn]:
    """Lines of means with their ribbons; each point stands in the middle of its time."""
    at_ms = np.clip(course.start_ms + course.bucket_ms // 2, shown.from_ms, shown.to_ms)
    lines = [
        _ribbon("temperature", "main", "temperature", at_ms, course.temperature),
        Drawn("temperature", "dew", "dew point", at_ms, course.dew_point.mean),
        _ribbon("humidity", "main", "humidity", at_ms, course.humidity),
        Drawn("temperature", "other", "not measured here", at_ms, course.other_temperature.mean),
        Drawn("humidity", "other", "not measured here", at_ms, course.other_humidity.mean),
    ]
    if course.surface is not None:
        lines.append(Drawn("temperature", "surface", "wall or ceiling", at_ms, course.surface.mean))
    return [line for line in lines if not np.isnan(line.value).all()]


def _ribbon(panel: Panel, style: Style, name: str, at_ms: Millis, line: Line) -> Drawn:
    return Drawn(panel, style, name, at_ms, line.mean, line.low, line.high)


def from_readings(
    reader: AirReader, place_id: str, course: AirCourse, raw: Sequence[RawLine], shown: Window
) -> list[Drawn]:
    """The readings themselves: those that speak for the place, the other probes beside them, doubtful ones apart."""
    by_step = from_course(course, shown)
    spoken = {role: speaking(reader, place_id, raw, role, shown) for role, _ in ROLES}
    lines: list[Drawn] = []
    for role, panel in ROLES:
        own = spoken[role]
        stepped = [line for line in by_step if line.panel == panel and line.style in ("main", "other")]
        lines += stepped if own is None else [_reading(own, panel, "main", role)]
        lines += [
            _reading(line, panel, "probe", probe_name(line.probe))
            for line in raw
            if line.role == role and line is not own
        ]
    lines += _dew(spoken["temperature"], spoken["humidity"], by_step)
    lines += [_reading(line, "temperature", "surface", "wall or ceiling") for line in raw if line.role == "surface"]
    lines += [_doubted(line) for line in raw if line.doubtful.any()]
    return [line for line in lines if not np.isnan(line.value).all()]


def _reading(line: RawLine, panel: Panel, style: Style, name: str) -> Drawn:
    at_ms, value = line.believed()
    return Drawn(panel, style, name, at_ms, value, points=line.is_typed or len(at_ms) < 3)


def _doubted(line: RawLine) -> Drawn:
    at_ms, value = line.doubted()
    panel: Panel = "humidity" if line.role == "humidity" else "temperature"
    return Drawn(panel, "doubtful", doubtful_name(line.probe), at_ms, value, points=True)


def _dew(temperature: RawLine | None, humidity: RawLine | None, by_step: Sequence[Drawn]) -> list[Drawn]:
    found = raw_dew_point(temperature, humidity) if temperature is not None and humidity is not None else None
    if found is None:
        return [line for line in by_step if line.style == "dew"]
    return [Drawn("temperature", "dew", "dew point", *found)]


def _doubtful(reader: AirReader, place_id: str, course: AirCourse, shown: Window) -> list[Drawn]:
    at_ms = np.clip(course.start_ms + course.bucket_ms // 2, shown.from_ms, shown.to_ms)
    return [
        Drawn(
            "humidity" if line.role == "humidity" else "temperature", "doubtful", doubtful_name(line.probe), at_ms,
            line.line.mean, points=True,
        )
        for line in doubtful_lines(reader, place_id, shown)
    ]  # fmt: skip


def probe_name(probe: str) -> str:
    """A probe as the legend calls it; a person's instrument by its own name."""
    return probe.rsplit("/", 1)[-1] + " (typed)" if probe.startswith(TYPED_PREFIX) else probe


def doubtful_name(probe: str) -> str:
    return f"doubtful, left out: {probe_name(probe)}"
