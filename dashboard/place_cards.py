"""The card of a place: its state in words, and each quantity as a value and a strip."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime

import numpy as np

from collector.air.model import Course, Origin
from collector.moist_air import dew_point_c
from collector.readings.model import Values
from collector.rules.dew_margin import DRIEST_PCT
from dashboard import air_words, links_to, words
from dashboard.air_now import AirNow
from dashboard.airing_words import airing_line
from dashboard.charts.strip import Strip, scale, strip
from dashboard.household import Household
from dashboard.last_day import MarginNow
from dashboard.place_view import PlaceView
from dashboard.places_now import Looked, PlaceNow
from dashboard.warnings.told import Told
from dashboard.whom import limits_of

Band = tuple[float | None, float | None]


@dataclass(frozen=True, slots=True)
class Measure:
    """One quantity on a card: its word, its value in words, what stands beside it, and its strip."""

    word: str
    value: str
    beside: str
    strip: Strip


@dataclass(frozen=True, slots=True)
class Card:
    """A place as it is shown.

    Args:
        read_at: when the newest reading was taken. whose: whose air it is.
        needs_target: somebody should say what air it should have.
        airing: whether to open the door, "" where there is nothing to say.
    """

    id: str
    name: str
    depth: int
    path: str
    type_path: str
    target_path: str
    needs_target: bool
    view: PlaceView
    measures: tuple[Measure, ...]
    read_at: datetime | None
    whose: str
    airing: str
    warnings: tuple[Told, ...]
    probe_warnings: tuple[Told, ...]


def card(seen: PlaceNow, looked: Looked, outside: AirNow | None = None) -> Card:
    """The card of one place.

    Args:
        outside: the air outside now; None where nobody measures it.
    """
    household, names = looked.household, looked.known
    return Card(
        id=seen.place.id,
        name=seen.place.name,
        depth=min(seen.depth, 3),
        path=links_to.cave(seen.place.id),
        type_path=links_to.type_reading(seen.place.id),
        target_path=links_to.targets(seen.place.id),
        needs_target=seen.target is None and seen.place.kind != "outside",
        view=seen.view,
        measures=tuple(measures(seen, household)),
        read_at=air_words.read_at(seen.now),
        whose=air_words.whose_air(seen.now, names.probe_names, names.place_names),
        airing=_airing(seen, outside),
        warnings=seen.warnings,
        probe_warnings=seen.probe_warnings,
    )


def _airing(seen: PlaceNow, outside: AirNow | None) -> str:
    """Only of places whose door leads out: a box within a cave is not aired so."""
    if outside is None or seen.place.kind == "outside" or seen.place.parent_id is not None:
        return ""
    return airing_line(seen.now, outside, seen.target)


def measures(seen: PlaceNow, household: Household) -> list[Measure]:
    """Temperature, humidity and what is left above the dew point; what is not known now is left out."""
    found = [_temperature(seen, household), _humidity(seen, household)]
    if seen.place.kind != "outside":
        found.append(_margin(seen, seen.day.wheels, "Wheels above the dew point", household))
        found.append(_margin(seen, seen.day.wall, "Wall above the dew point", household))
    return [one for one in found if one is not None]


def _temperature(seen: PlaceNow, household: Household) -> Measure | None:
    now, asked = seen.now.temperature_c, limits_of(seen.target)
    if now.value is None:
        return None
    band = (asked.temperature_low_c, asked.temperature_high_c) if asked else None
    ends = words.temperature_number
    texts = _texts(band, lambda value: _short(ends(value, household)))
    day = _day(seen.day.air.temperature_c, seen.day.day_from)
    value = words.temperature(now.value, household)
    label = _label("Temperature", value, texts, day and _span(day, lambda v: words.temperature(v, household)))
    drawn = strip(label, _scale(band, day, now.value), band, texts, day, now.value, air_words.reach(now))
    return Measure("Temperature", value, air_words.sure_temperature(air_words.reach(now), household), drawn)


def _humidity(seen: PlaceNow, household: Household) -> Measure | None:
    now, asked = seen.now.humidity_pct, limits_of(seen.target)
    if now.value is None:
        return None
    band = (asked.humidity_low_pct, asked.humidity_high_pct) if asked else None
    texts = _texts(band, lambda value: _short(f"{value:.1f}"))
    day = _day(seen.day.air.humidity_pct, seen.day.day_from)
    value, sure = words.humidity(now.value, household), air_words.humidity(now, household).partition("% ")[2]
    label = _label("Humidity", value, texts, day and _span(day, lambda v: words.humidity(v, household)))
    drawn = strip(label, _scale(band, day, now.value), band, texts, day, now.value, air_words.reach(now))
    return Measure("Humidity", value, sure, drawn)


def _margin(seen: PlaceNow, margin: MarginNow | None, word: str, household: Household) -> Measure | None:
    """What is left above the dew point now, its range over the day; None where it is not known now."""
    if margin is None:
        return None
    band, day, dew = (0.0, None), (margin.lowest_k, margin.highest_k), dew_point(seen)
    value = words.temperature_step(margin.now_k, household)
    label = _label(word, value, ("0", ""), _span(day, lambda v: words.temperature_step(v, household)))
    reach_k = air_words.reach(seen.now.humidity_pct, margin.u_k)
    drawn = strip(label, _scale(band, day, margin.now_k), band, ("0", ""), day, margin.now_k, reach_k)
    sure = air_words.sure_temperature(reach_k, household)
    beside = f"{sure}, dew point {words.temperature(dew, household)}" if dew is not None else sure
    return Measure(word, value, beside, drawn)


def dew_point(seen: PlaceNow) -> float | None:
    """The dew point of the newest air [degC], None where it is not known."""
    temperature, humidity = seen.now.temperature_c.value, seen.now.humidity_pct.value
    if temperature is None or humidity is None or humidity < DRIEST_PCT:
        return None
    return float(dew_point_c(temperature, humidity))


def _day(course: Course, day_from: int) -> tuple[float, float] | None:
    """Lowest and highest of the last day where it was measured."""
    measured = course.origin[day_from:] <= Origin.TYPED
    return _extremes(course.low[day_from:][measured], course.high[day_from:][measured])


def _extremes(low: Values, high: Values) -> tuple[float, float] | None:
    if len(low) == 0 or np.isnan(low).all():
        return None
    return float(np.nanmin(low)), float(np.nanmax(high))


def _scale(band: Band | None, day: tuple[float, float] | None, now: float) -> tuple[float, float]:
    return scale(band if band != (None, None) else None, [*(day or ()), now])


def _texts(band: Band | None, text: Callable[[float], str]) -> tuple[str, str]:
    low, high = band or (None, None)
    return "" if low is None else text(low), "" if high is None else text(high)


def _short(number: str) -> str:
    return number.removesuffix(".0")


def _span(day: tuple[float, float], text: Callable[[float], str]) -> str:
    return f"{text(day[0])} to {text(day[1])}"


def _label(word: str, value: str, ends: tuple[str, str], day: str | None) -> str:
    """The strip in words, for those who do not see it."""
    low, high = ends
    asked = f"{low} to {high}" if low and high else f"at least {low}" if low else f"at most {high}" if high else ""
    parts = [f"{word} {value}", f"target {asked}" if asked else "", f"last day {day}" if day else ""]
    return ", ".join(part for part in parts if part)
