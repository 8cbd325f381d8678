"""The air of a place over any time, by ten-minute steps or reading by reading."""

from typing import Literal, cast

import numpy as np
from fastapi import APIRouter

from collector.air.model import STEP_MS, Course, Origin
from collector.moist_air import dew_point_c
from collector.records.columns import from_ms
from collector.rules.dew_margin import measured_air
from dashboard.api.access import ApiReader
from dashboard.api.reading import air_reader, numbers, place_of
from dashboard.api.shapes import ERRORS, AirOut, CourseOut, From, LineOut, OriginName, RawAirOut, RoleName, To, span_ms
from dashboard.charts.raw_lines import RawLine, raw_lines_of
from dashboard.charts.spans import linked

router = APIRouter(tags=["air"], responses=ERRORS)
MOST_DAYS = 400  # a year and a bit: 57,600 steps
MOST_RAW_DAYS = 32
ORIGINS: list[OriginName] = [cast(OriginName, origin.name.lower()) for origin in Origin]
UNITS: dict[str, Literal["Cel", "%RH"]] = {"temperature": "Cel", "surface": "Cel", "humidity": "%RH"}


@router.get("/places/{place_id}/air")
def air(visit: ApiReader, place_id: str, from_at: From, to_at: To) -> AirOut:
    """The air by ten-minute steps, as rules, weight and look-back see it; at most 400 days at once."""
    start, end = span_ms(from_at, to_at, MOST_DAYS)
    with visit.looking() as db:
        reader = air_reader(visit, db, start, end)
    place_of(reader.facts, place_id)
    found = reader.air(place_id, start, end)
    temperature, humidity = measured_air(found)
    return AirOut(
        place_id=place_id,
        start_at=from_ms(int(found.start_ms[0])),
        step_s=STEP_MS // 1_000,
        temperature_c=_course(found.temperature_c),
        humidity_pct=_course(found.humidity_pct),
        surface_c=None if found.surface_c is None else _course(found.surface_c),
        dew_point_c=numbers(np.asarray(dew_point_c(temperature, humidity))),
        sources=list(found.sources),
    )


@router.get("/places/{place_id}/air/raw")
def raw_air(visit: ApiReader, place_id: str, from_at: From, to_at: To) -> RawAirOut:
    """The calibrated readings of every probe in a place, doubtful ones marked; at most 32 days at once."""
    start, end = span_ms(from_at, to_at, MOST_RAW_DAYS)
    with visit.looking() as db:
        reader = air_reader(visit, db, start, end)
    place_of(reader.facts, place_id)
    lines = raw_lines_of(reader, place_id, linked(start, max(end, start + STEP_MS), end))
    return RawAirOut(place_id=place_id, lines=[_line(line, start, end) for line in lines])


def _course(found: Course) -> CourseOut:
    return CourseOut(
        mean=numbers(found.mean),
        low=numbers(found.low),
        high=numbers(found.high),
        known=np.round(found.known, 3).tolist(),
        uncertainty=numbers(found.uncertainty),
        origin=[ORIGINS[number] for number in found.origin.tolist()],
    )


def _line(line: RawLine, start: int, end: int) -> LineOut:
    inside = (line.taken_ms >= start) & (line.taken_ms < end)
    return LineOut(
        probe=line.probe,
        role=cast(RoleName, line.role),
        unit=UNITS[line.role],
        taken_at=[from_ms(ms) for ms in line.taken_ms[inside].tolist()],
        value=np.round(line.value[inside], 3).tolist(),
        doubtful=line.doubtful[inside].tolist(),
    )
