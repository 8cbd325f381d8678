"""Airing: would opening the door now wet or dry, warm or cool each cave, and when would be better."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import ClassVar, get_args

from fastapi import APIRouter, HTTPException
from sqlalchemy import Connection, func, select
from starlette.responses import Response

from collector.air.channel import TYPED_U
from collector.air.model import Air
from collector.air.read import AirReader
from collector.errors import EntryRefused
from collector.records.columns import from_ms, to_ms
from collector.records.facts import Place
from collector.records.tables import fact_change, typed_reading
from collector.rules.airing import AirNow, Want
from collector.rules.airing_hours import DAYS_SEEN
from collector.situations import outside_place
from dashboard import links_to, typed_readings
from dashboard.air_now import air_now
from dashboard.forms import Form
from dashboard.navigation import Nav
from dashboard.places.airing_now import WANT_WORDS, Cave, CaveAiring, Outside, air_words, cave_airing, known
from dashboard.places.trial import reader_for
from dashboard.places_now import ordered
from dashboard.typed_air import humidity_pct, temperature_c
from dashboard.visit import Guest, Visit

router = APIRouter()
PATH, PART = "/airing", "/airing/part"
NAV = Nav("Airing", PATH, "airing", "more", 40)
TYPED_HOLDS = timedelta(hours=3)  # our choice: the weather of three hours ago may do when nothing newer is there
RECORD = timedelta(days=DAYS_SEEN + 1)
WANTS: Mapping[str, str] = {"": "What its target asks", **{str(want): said for want, said in WANT_WORDS.items()}}
# Common practice, no source.
CAUTIONS = (
    "Look at wheels and ceiling first: while anything is wet, warm air from outside makes it wetter.",
    "Ten minutes with the door wide open do more than an hour with a gap, and cool wheels less.",
    "Keep flies out: a fine net in the door, nothing left open over night.",
    "In frost keep bare wheels out of the draught; their rind may crack.",
    "A closed cave can hold carbon dioxide and ammonia. Let air in before you stay; if your head grows heavy or your "
    "eyes sting, go out.",
)


@dataclass(frozen=True, slots=True)
class AiringPart:
    template: ClassVar[str] = "airing_part.html"
    outside: str
    outside_by: str
    outside_at: datetime | None
    caves: tuple[CaveAiring, ...]


@dataclass(frozen=True, slots=True)
class AiringPage:
    template: ClassVar[str] = "airing.html"
    title: str
    part: AiringPart
    path: str
    etag: str
    form: Form
    wants: Mapping[str, str]
    unit: str
    has_outside: bool
    keep_path: str
    cautions: tuple[str, ...]
    may_enter: bool


@dataclass(frozen=True, slots=True)
class Weather:
    """The air outside with where it comes from; `outside` None: nobody knows it."""

    outside: Outside | None
    by: str = ""
    at: datetime | None = None


@router.get(PATH)
def airing(visit: Guest) -> Response:
    """The page; an air that is typed into its form is taken for the one outside, and not kept."""
    texts = dict(visit.request.query_params)
    try:
        typed = _typed(texts, visit)
    except EntryRefused as refused:
        return visit.refused(_page(visit, Form(texts).wrong(refused.field, str(refused)), None))
    return visit.page(_page(visit, Form(texts), typed))


@router.get(PART)
def airing_part(visit: Guest) -> Response:
    """The answers, asked for again while somebody looks."""
    texts = dict(visit.request.query_params)
    try:
        typed = _typed(texts, visit)
    except EntryRefused as refused:
        raise HTTPException(422) from refused
    with visit.looking() as db:
        reader = _reader(visit, db)
        return visit.fragment(_tag(visit, db), lambda: _part(visit, db, reader, Form(texts), typed))


def _tag(visit: Visit, db: Connection) -> tuple[object, ...]:
    """Readings, facts, typed readings, and the hour: the best hours move on with it."""
    newest = visit.readings.newest_change() if visit.readings else 0
    settled = db.execute(select(func.max(fact_change.c.seq))).scalar()
    typed = db.execute(select(func.max(typed_reading.c.seq))).scalar()
    return (newest, settled, typed, f"{visit.now_at:%d%H}", visit.request.url.query)


def _typed(texts: Mapping[str, str], visit: Visit) -> AirNow | None:
    warm, damp = texts.get("temperature", "").strip(), texts.get("humidity", "").strip()
    if not warm and not damp:
        return None
    if not warm or not damp:
        raise EntryRefused("humidity" if warm else "temperature", "Both are needed: temperature and humidity.")
    if texts.get("below_zero") and warm[0].isdigit():
        warm = f"-{warm}"
    t, h = temperature_c(warm, visit.household, "temperature"), humidity_pct(damp, "humidity")
    return AirNow(t, h, TYPED_U["temperature"], TYPED_U["humidity"])


def _page(visit: Visit, form: Form, typed: AirNow | None) -> AiringPage:
    with visit.looking() as db:
        reader = _reader(visit, db)
        part, tag = _part(visit, db, reader, form, typed), _tag(visit, db)
    outside_id = outside_place(reader.facts) if reader else None
    query = visit.request.url.query
    return AiringPage(
        title="Airing",
        part=part,
        path=f"{PART}?{query}" if query else PART,
        etag=visit.etag(tag),
        form=form,
        wants=WANTS,
        unit=f"°{visit.household.temperature_unit}",
        has_outside=outside_id is not None,
        keep_path=f"{links_to.type_reading(outside_id)}&back={PATH}" if outside_id else "",
        cautions=CAUTIONS,
        may_enter=visit.person.may("helper"),
    )


def _part(visit: Visit, db: Connection, reader: AirReader | None, form: Form, typed: AirNow | None) -> AiringPart:
    chosen = next((want for want in get_args(Want) if want == form.text("want")), None)
    weather = _weather(visit, db, reader, typed)
    caves = tuple(_caves(visit, reader, weather, chosen)) if reader else ()
    outside = air_words(weather.outside.air, visit.household) if weather.outside else ""
    return AiringPart(outside, weather.by, weather.at, caves)


def _reader(visit: Visit, db: Connection) -> AirReader | None:
    if visit.readings is None:
        return None
    return reader_for(db, visit.readings, visit.now_at - RECORD, visit.now_at + timedelta(minutes=15))


def _weather(visit: Visit, db: Connection, reader: AirReader | None, typed: AirNow | None) -> Weather:
    """The air outside: what was typed here, else what a probe says, else what was typed a short while ago."""
    if typed is not None:
        return Weather(Outside(typed, no_record=""), "as typed below")
    outside_id, now_ms = outside_place(reader.facts) if reader else None, to_ms(visit.now_at)
    if reader is None or outside_id is None:
        return Weather(None)
    record = reader.air(outside_id, to_ms(visit.now_at - RECORD), now_ms)
    now = air_now(reader, outside_id, now_ms)
    measured = known(now)
    if measured is not None:
        at = from_ms(now.newest_ms) if now.newest_ms else None
        return Weather(Outside(measured, record), f"measured at {reader.facts.places[outside_id].name}", at)
    return _typed_before(visit, db, outside_id, record)


def _typed_before(visit: Visit, db: Connection, outside_id: str, record: Air | None) -> Weather:
    """What somebody typed for the place outside within the last hours."""
    for one in typed_readings.newest(db, outside_id):
        if one.temperature_c is not None and one.humidity_pct is not None and visit.now_at - one.done_at < TYPED_HOLDS:
            air = AirNow(one.temperature_c, one.humidity_pct, TYPED_U["temperature"], TYPED_U["humidity"])
            return Weather(Outside(air, record), f"typed, {one.instrument}", one.done_at)
    return Weather(None)


def _caves(visit: Visit, reader: AirReader, weather: Weather, chosen: Want | None) -> list[CaveAiring]:
    """Each place whose door leads out: a box within a cave is aired with it."""
    if weather.outside is None:
        return []
    now_ms = to_ms(visit.now_at)
    return [
        cave_airing(_cave(visit, reader, place, now_ms), weather.outside, chosen, visit.household, now_ms)
        for place, depth in ordered(reader.facts)
        if depth == 0 and place.kind != "outside"
    ]


def _cave(visit: Visit, reader: AirReader, place: Place, now_ms: int) -> Cave:
    return Cave(
        place.name, links_to.cave(place.id), links_to.type_reading(place.id), air_now(reader, place.id, now_ms),
        reader.facts.target_at(place.id, visit.now_at),
    )  # fmt: skip
