"""One probe: what it says, what was understood of it, and everything that can be settled about it."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import ClassVar

from fastapi import APIRouter, HTTPException
from sqlalchemy import Connection
from starlette.responses import Response

from collector.errors import EntryRefused
from collector.notify.known import load_known
from dashboard import links_to
from dashboard.forms import Form
from dashboard.paths import own_path
from dashboard.places.adding import open_places
from dashboard.probes import doing_fields, doing_place, doing_settings
from dashboard.probes.book import Book, load
from dashboard.probes.doing import Asked, Doing
from dashboard.probes.doing_place import place_words
from dashboard.probes.messages import Message, NotUnderstood, hints_of, message, not_understood
from dashboard.probes.placing import By, first_reading_at
from dashboard.probes.shown import Probe, probe
from dashboard.probes.values import current_piece
from dashboard.visit import Guest, Owner, Texts, Visit

router = APIRouter()
DOINGS: Mapping[str, Doing] = {
    doing.name: doing for doing in (*doing_place.DOINGS, *doing_fields.DOINGS, *doing_settings.DOINGS)
}
JSON_FORMAT = "json_object"
MOST_REJECTED = 5


@dataclass(frozen=True, slots=True)
class ProbePart:
    template: ClassVar[str] = "probe_part.html"
    probe: Probe
    messages: tuple[Message, ...]
    rejected: tuple[NotUnderstood, ...]
    place_names: Mapping[str, str]
    may_change: bool


@dataclass(frozen=True, slots=True)
class ProbePage:
    template: ClassVar[str] = "probe.html"
    title: str
    part: ProbePart
    path: str
    etag: str
    places: Mapping[str, str]
    is_json: bool


@router.get("/probes/{path:path}")
def one(visit: Guest, path: str, do: str = "", field: str = "") -> Response:
    name = links_to.probe_of(path)
    if do and do != "part":
        return _form(visit, name, do, field)
    with visit.looking() as db:
        book = load(db, visit.readings)
        if name not in book.seen:
            raise HTTPException(404)
        tag = (book.tag(), visit.readings.newest_change() if visit.readings else 0)
        if do == "part":
            return visit.fragment(tag, lambda: _part(visit, db, book, name))
        part = _part(visit, db, book, name)
        places = place_words(open_places(db))
    is_json = any(m.format == JSON_FORMAT for m in part.messages)
    page = ProbePage(part.probe.called, part, f"{part.probe.path}?do=part", visit.etag(tag), places, is_json)
    return visit.page(page)


def _part(visit: Visit, db: Connection, book: Book, name: str) -> ProbePart:
    readings = visit.readings
    if readings is None:
        raise HTTPException(404)
    shown = probe(book, readings, load_known(db, visit.now_at), visit.household, name, visit.now_at)
    hints = hints_of(book.choice(name))
    kept = tuple(message(*row, hints) for row in readings.last_messages(name) if row[1])
    topics = {book.seen[name].topic} | {m.topic for m in kept}
    rejected = not_understood([row for row in readings.rejects() if row[0] in topics])[:MOST_REJECTED]
    names = {place.id: place.name for place in book.facts.places.values()}
    return ProbePart(shown, kept, tuple(rejected), names, visit.person.may("owner"))


def _form(visit: Visit, name: str, do: str, field: str) -> Response:
    """One of the forms about a probe, as things stand."""
    doing = DOINGS.get(do)
    if doing is None or doing.show is None or not _is_known(visit, name, field):
        raise HTTPException(404)
    if not visit.person.may("owner"):
        raise HTTPException(403)
    return visit.page(doing.show(visit, name, field, None))


def _is_known(visit: Visit, name: str, field: str) -> bool:
    readings = visit.readings
    if readings is None or not any(seen.name == name for seen in readings.probes()):
        return False
    return not field or any((c.probe, c.field) == (name, field) for c in readings.channels())


@router.post("/probes/{path:path}/{do}")
def settle(visit: Owner, path: str, do: str, texts: Texts) -> Response:
    """Do one thing to a probe; a form that is refused comes back with its texts."""
    name, doing, field = links_to.probe_of(path), DOINGS.get(do), texts.get("field", "")
    if doing is None or not _is_known(visit, name, field):
        raise HTTPException(404)
    try:
        with visit.changing() as db:
            said = doing.save(db, _asked(visit, db, name, texts, field))
    except EntryRefused as refused:
        if doing.show is None:
            raise
        return visit.refused(doing.show(visit, name, field, Form(texts).wrong(refused.field, str(refused))))
    return visit.go(own_path(texts.get("back", ""), links_to.probe(name)), said)


def _asked(visit: Visit, db: Connection, name: str, texts: Mapping[str, str], field: str) -> Asked:
    book = load(db, visit.readings)
    measures = {
        channel.field: current_piece(channel, book.facts, visit.now_at).quantity
        for channel in book.channels.get(name, ())
    }
    first_at = first_reading_at(visit.readings, name, visit.now_at)
    return Asked(name, texts, visit.household, By(visit.person.name, visit.now_at), first_at, field, measures)
