"""The air of a place, or the readings of a channel, as CSV of any length, written while it is read."""

from collections.abc import Iterator, Sequence
from datetime import UTC
from zoneinfo import ZoneInfo

import numpy as np
from fastapi import APIRouter
from starlette.responses import StreamingResponse

from collector.air.model import STEP_MS, Air, Course, Origin
from collector.air.read import AirReader
from collector.moist_air import dew_point_c
from collector.quantities import QUANTITIES, from_canonical
from collector.readings.model import Channel, Mark, Millis, Series, Values
from collector.readings.reader import series
from collector.rules.dew_margin import measured_air
from collector.rules.trust.cleaning import TEMPERATURES
from dashboard.api.access import ApiExporter
from dashboard.api.probes import calibrated_values, doubted, quantity_of
from dashboard.api.reading import air_reader, channel_of, file_name, numbers, place_of, readings_of
from dashboard.api.shapes import CSV_ANSWER, DAY_MS, ERRORS, From, To, span_ms
from dashboard.charts.wall_time import wall_ms
from dashboard.csv_rows import Cell, csv_lines
from dashboard.household import Household

router = APIRouter(tags=["export"], responses={**ERRORS, **CSV_ANSWER})
AIR_PIECE_MS = 60 * DAY_MS
RAW_PIECE_MS = 4 * DAY_MS
TEXT = "text/csv; charset=utf-8"
ORIGIN_WORDS = {
    Origin.LEAD: "probe that speaks for the place", Origin.MEDIAN: "middle of the probes", Origin.TYPED: "typed",
    Origin.PARENT: "room around", Origin.ASSUMED: "assumed", Origin.UNKNOWN: "",
}  # fmt: skip
HOW = ((Mark.TYPED, "typed"), (Mark.IMPORTED, "imported"))
WHEN = ((Mark.AT_THE_LATEST, "at the latest"), (Mark.TIME_OF_ARRIVAL, "of arrival"))


@router.get("/places/{place_id}/air.csv", response_class=StreamingResponse)
def air_csv(visit: ApiExporter, place_id: str, from_at: From, to_at: To) -> StreamingResponse:
    """The air of a place by ten-minute steps, in the household's units and time; steps of which nothing is known are
    left out."""
    start, end = span_ms(from_at, to_at)
    with visit.looking() as db:
        reader = air_reader(visit, db, start, end)
    name = place_of(reader.facts, place_id).name
    days = f"{from_at.astimezone(UTC):%Y%m%d}-{to_at.astimezone(UTC):%Y%m%d}"
    lines = _air_lines(reader, place_id, start // STEP_MS * STEP_MS, end, visit.household)
    return StreamingResponse(lines, media_type=TEXT, headers=file_name(name, days))


@router.get("/channels/{number}/readings.csv", response_class=StreamingResponse)
def readings_csv(visit: ApiExporter, number: int, from_at: From, to_at: To) -> StreamingResponse:
    """The readings of a channel as sent, and calibrated in the household's unit."""
    start, end = span_ms(from_at, to_at)
    channel = channel_of(readings_of(visit), number)
    with visit.looking() as db:
        reader = air_reader(visit, db, start, end)
    days = f"{from_at.astimezone(UTC):%Y%m%d}-{to_at.astimezone(UTC):%Y%m%d}"
    # What is no longer kept here may not be to be had: that is told before the answer begins.
    series(reader.db, channel.id, start, min(start + RAW_PIECE_MS, end))
    lines = _reading_lines(reader, channel, start, end, visit.household)
    return StreamingResponse(lines, media_type=TEXT, headers=file_name(f"{channel.probe} {channel.field}", days))


def _air_lines(reader: AirReader, place_id: str, start: int, end: int, household: Household) -> Iterator[str]:
    degrees = f"deg{household.temperature_unit}"
    parts = ("mean", "lowest", "highest")
    yield csv_lines([[
        *_time_heads(household), *(f"temperature {part} ({degrees})" for part in parts), "temperature from",
        *(f"humidity {part} (%)" for part in parts), "humidity from", f"dew point ({degrees})", "known (share of 1)",
    ]])  # fmt: skip
    for begin in range(start, end, AIR_PIECE_MS):
        yield csv_lines(_air_rows(reader.air(place_id, begin, min(begin + AIR_PIECE_MS, end)), household))


def _air_rows(air: Air, household: Household) -> Iterator[list[Cell]]:
    temperature, humidity = measured_air(air)
    dew = numbers(_degrees(np.asarray(dew_point_c(temperature, humidity)), household), 2)
    local, utc = _times(air.start_ms, household.zone)
    t, h = _columns(air.temperature_c, household), _columns(air.humidity_pct, None)
    known = numbers(np.minimum(air.temperature_c.known, air.humidity_pct.known))
    for i in range(len(air)):
        if t[0][i] is not None or h[0][i] is not None:
            yield [local[i], utc[i], *(column[i] for column in t), *(column[i] for column in h), dew[i], known[i]]


def _columns(course: Course, household: Household | None) -> list[list[Cell]]:
    """Mean, lowest, highest and origin; with a household as temperatures in its unit."""
    values = [course.mean, course.low, course.high]
    shown = [numbers(_degrees(v, household) if household else v, 2) for v in values]
    return [*shown, [ORIGIN_WORDS[Origin(number)] for number in course.origin.tolist()]]  # type: ignore[list-item]


def _degrees(value_c: Values, household: Household) -> Values:
    return value_c * 1.8 + 32 if household.temperature_unit == "F" else value_c


def _time_heads(household: Household) -> list[str]:
    return [f"time ({household.time_zone})", "time (UTC)"]


def _times(at_ms: Millis, zone: ZoneInfo) -> tuple[list[str], list[str]]:
    """Times on the household's wall and in UTC, to the second."""
    both = []
    for ms in (wall_ms(at_ms, zone), at_ms):
        texts = np.datetime_as_string((ms // 1_000).astype("datetime64[s]"))
        both.append([text.replace("T", " ") for text in texts.tolist()])
    return both[0], both[1]


def _reading_lines(reader: AirReader, channel: Channel, start: int, end: int, household: Household) -> Iterator[str]:
    quantity = quantity_of(reader, channel, start, end)
    unit = _unit(quantity, household)
    named = f"{QUANTITIES[quantity].word} ({unit})" if quantity else "value"
    yield csv_lines([[*_time_heads(household), named, "as sent", "unit as sent", "doubtful", "how", "time is"]])
    for begin in range(start, end, RAW_PIECE_MS):
        raw = series(reader.db, channel.id, begin, min(begin + RAW_PIECE_MS, end))
        yield csv_lines(_reading_rows(reader, channel, raw, quantity, household))


def _reading_rows(
    reader: AirReader, channel: Channel, raw: Series, quantity: str | None, household: Household
) -> Iterator[list[Cell]]:
    canonical = calibrated_values(reader, channel, raw, quantity)
    value = numbers(canonical if quantity is None else _shown(canonical, quantity, household))
    local, utc = _times(raw.taken_ms, household.zone)
    doubtful = doubted(reader.doubts.get(channel.id, ()), raw).tolist()
    units, marks = raw.unit.tolist(), raw.mark.tolist()
    for i, sent in enumerate(raw.value.tolist()):
        told = [_word(marks[i], words) for words in (HOW, WHEN)]
        yield [local[i], utc[i], value[i], sent, raw.units[units[i]], "yes" if doubtful[i] else "", *told]


def _word(mark: int, words: Sequence[tuple[Mark, str]]) -> str:
    return next((word for bit, word in words if mark & bit), "")


def _shown(value: Values, quantity: str, household: Household) -> Values:
    if quantity in TEMPERATURES:
        return _degrees(value, household)
    return np.asarray(from_canonical(value, QUANTITIES[quantity].shown_unit, quantity))


def _unit(quantity: str | None, household: Household) -> str:
    if quantity in TEMPERATURES:
        return f"deg{household.temperature_unit}"
    return QUANTITIES[quantity].shown_unit if quantity else ""
