"""One cave: its air now, and over an hour to all years, with what happened."""

import json
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Annotated, ClassVar
from urllib.parse import urlencode

from fastapi import APIRouter, Depends, HTTPException, Query
from sqlalchemy import Connection
from starlette.responses import Response

from collector.errors import SchemaMissing
from collector.records.columns import from_ms, to_ms
from dashboard import links_to
from dashboard.cave_air import Asked, cave_air, chart_tag, time_text
from dashboard.charts.air_course import air_course
from dashboard.charts.air_figure import air_figure
from dashboard.charts.air_table import air_rows, columns
from dashboard.charts.marks import Lane
from dashboard.charts.spans import SPANS, Window, earlier, later
from dashboard.packed_answer import packed
from dashboard.pages.caves import cards_tag
from dashboard.place_cards import Card, card
from dashboard.places_now import look, outside_now, place_now
from dashboard.visit import Guest, Visit
from dashboard.wheels_shown.of_place import place_photos
from dashboard.wheels_shown.one import Photo

router = APIRouter()
MARKS_TOLD = 40


@dataclass(frozen=True, slots=True)
class Choice:
    """One span to choose."""

    word: str
    path: str
    here: bool


@dataclass(frozen=True, slots=True)
class Told:
    """One mark in words."""

    at: datetime
    words: str
    path: str


@dataclass(frozen=True, slots=True)
class CaveNow:
    """The air at this moment; asked for again."""

    template: ClassVar[str] = "cave_now.html"
    card: Card
    may_enter: bool


@dataclass(frozen=True, slots=True)
class CavePage:
    """The page.

    Args:
        earlier, later, newest: where the buttons lead, "" for nowhere.
        from_at, to_at: the ends of what is shown. is_live: it ends now.
    """

    template: ClassVar[str] = "cave.html"
    title: str
    now: CaveNow
    now_path: str
    now_etag: str
    choices: tuple[Choice, ...]
    earlier: str
    later: str
    newest: str
    from_at: datetime
    to_at: datetime
    is_live: bool
    figure_path: str
    refresh_s: int
    csv_path: str
    picture_name: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    marks: tuple[Told, ...]
    side_path: str
    weight_path: str
    cooler_path: str
    settings_path: str
    targets_path: str
    photos: tuple[Photo, ...]
    may_change: bool
    means_before_at: datetime | None


def _asked(
    span: Annotated[str, Query(max_length=10)] = "",
    from_at: Annotated[str, Query(alias="from", max_length=40)] = "",
    to_at: Annotated[str, Query(alias="to", max_length=40)] = "",
) -> Asked:
    return Asked(span, from_at, to_at)


Stretch = Annotated[Asked, Depends(_asked)]


@router.get("/caves/{place_id}")
def cave(visit: Guest, place_id: str, asked: Stretch) -> Response:
    with visit.looking() as db:
        etag = visit.etag((place_id, *cards_tag(visit, db)))
        found = cave_air(visit, db, place_id, asked)
        now = _now(visit, db, place_id)
        photos = place_photos(db, found.place, visit.now_at, visit.household)
    shown = found.shown
    base = links_to.cave(place_id)
    course = air_course(found.reader, place_id, shown)
    rows = tuple(row.texts() for row in air_rows(course, shown, visit.household))
    ends = {"from": time_text(shown.from_ms), "to": time_text(shown.to_ms)}
    back, onward = earlier(shown), later(shown, to_ms(visit.now_at))
    return visit.page(
        CavePage(
            title=found.place.name,
            now=now,
            now_path=f"{base}/now",
            now_etag=etag,
            choices=_choices(base, shown),
            earlier="" if back is None else _path(base, shown, back),
            later="" if onward is None else _path(base, shown, onward),
            newest="" if shown.live else f"{base}?span={shown.span or 'day'}",
            from_at=from_ms(shown.from_ms),
            to_at=from_ms(shown.to_ms),
            is_live=shown.live,
            figure_path=_figure_path(base, asked),
            refresh_s=60 if shown.live and shown.is_short else 0,
            csv_path=f"/api/places/{place_id}/air.csv?{urlencode(ends)}",
            picture_name=f"{found.place.name} {ends['from'][:10]} {ends['to'][:10]}",
            columns=columns(visit.household),
            rows=rows,
            marks=_marks(found.lanes),
            side_path=f"{base}/side-by-side",
            weight_path=f"{base}/weight",
            cooler_path=f"{base}/cooler" if found.place.kind != "outside" else "",
            settings_path=links_to.place(place_id),
            targets_path=links_to.targets(place_id),
            photos=photos,
            may_change=visit.person.may("owner"),
            means_before_at=None if found.means_only_before_ms is None else from_ms(found.means_only_before_ms),
        )
    )


@router.get("/caves/{place_id}/now")
def now(visit: Guest, place_id: str) -> Response:
    """The air at this moment, asked for again while somebody looks."""
    with visit.looking() as db:
        return visit.fragment((place_id, *cards_tag(visit, db)), lambda: _now(visit, db, place_id))


@router.get("/caves/{place_id}/figure")
def figure(visit: Guest, place_id: str, asked: Stretch) -> Response:
    """The chart, for the library to draw."""
    with visit.looking() as db:
        etag = visit.etag(chart_tag(visit, db, place_id, asked))
        headers = {"ETag": etag, "Cache-Control": "private, no-cache"}
        if etag in visit.request.headers.get("if-none-match", ""):
            return Response(status_code=304, headers=headers)
        found = cave_air(visit, db, place_id, asked)
    drawn = air_figure(found.drawing(), visit.household)
    body = json.dumps(drawn, allow_nan=False, separators=(",", ":")).encode()
    return packed(visit.request.headers, body, "application/json", headers)


def _now(visit: Visit, db: Connection, place_id: str) -> CaveNow:
    if visit.readings is None:
        raise SchemaMissing(visit.house.settings.readings_path)
    looked = look(db, visit.readings, visit.now_at, visit.household, visit.house.last_days)
    place = looked.facts.places.get(place_id)
    if place is None:
        raise HTTPException(404)
    shown = card(place_now(looked, place), looked, outside_now(looked))
    return CaveNow(shown, visit.person.may("helper"))


def _choices(base: str, shown: Window) -> tuple[Choice, ...]:
    """Each span, ending where this one ends."""
    end = "" if shown.live else f"&to={time_text(shown.to_ms)}"
    return tuple(Choice(s.word, f"{base}?span={s.name}{end}", s.name == shown.span) for s in SPANS.values())


def _path(base: str, shown: Window, to_ms_: int) -> str:
    if shown.span:
        return f"{base}?{urlencode({'span': shown.span, 'to': time_text(to_ms_)})}"
    ends = {"from": time_text(to_ms_ - shown.length_ms), "to": time_text(to_ms_)}
    return f"{base}?{urlencode(ends)}"


def _figure_path(base: str, asked: Asked) -> str:
    said = {"span": asked.span, "from": asked.from_at, "to": asked.to_at}
    query = urlencode({name: text for name, text in said.items() if text})
    return f"{base}/figure" + (f"?{query}" if query else "")


def _marks(found: Sequence[Lane]) -> tuple[Told, ...]:
    """What happened, the newest first."""
    marks = [mark for lane in found for mark in lane.marks]
    newest = sorted(marks, key=lambda mark: mark.at_ms, reverse=True)[:MARKS_TOLD]
    return tuple(Told(from_ms(mark.at_ms), mark.words, mark.path) for mark in newest)
