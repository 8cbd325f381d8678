"""Connecting a probe: what to tell it, and waiting for its first message."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import ClassVar
from urllib.parse import urlencode

from fastapi import APIRouter
from sqlalchemy import Connection
from starlette.responses import Response

from collector.errors import EntryRefused
from collector.notify.known import load_known
from collector.readings.reader import Readings
from collector.records.columns import to_ms
from dashboard.forms import Form
from dashboard.places.adding import open_places
from dashboard.probes.book import Book, is_typed, load
from dashboard.probes.connecting import PASSWORD, Door, door, probe_name_typed, sample, topic_of
from dashboard.probes.doing_place import place_words
from dashboard.probes.messages import Message, NotUnderstood, hints_of, message, not_understood
from dashboard.probes.shown import Probe, probe
from dashboard.probes.topic_filters import matches
from dashboard.visit import Helper, Visit

router = APIRouter()
PATH, PART = "/probes/connect", "/probes/connect/part"
MOST_HEARD, MOST_REJECTED = 5, 3


@dataclass(frozen=True, slots=True)
class Heard:
    """A probe that spoke while somebody waited, and its newest message."""

    probe: Probe
    message: Message | None


@dataclass(frozen=True, slots=True)
class ConnectPart:
    template: ClassVar[str] = "connect_part.html"
    heard: tuple[Heard, ...]
    rejected: tuple[NotUnderstood, ...]
    places: Mapping[str, str]
    waits_for: str
    may_change: bool


@dataclass(frozen=True, slots=True)
class ConnectPage:
    template: ClassVar[str] = "connect.html"
    title: str
    form: Form
    door: Door
    password: str
    topic: str
    sample: str
    part: ConnectPart | None
    path: str
    again: str
    may_change: bool


@dataclass(frozen=True, slots=True)
class Awaited:
    """What somebody waits for: a probe by name, or what comes under a topic, since a time [ms]."""

    name: str
    topic: str
    since_ms: int

    @property
    def query(self) -> str:
        return urlencode({"name": self.name, "topic": self.topic, "since": self.since_ms})

    def meets(self, probe: str, topic: str) -> bool:
        """Whether a probe is the one that is meant; without any wish each is."""
        if self.name:
            return probe == self.name
        return matches(self.topic, topic) if self.topic else True


@router.get(PATH)
def connect(visit: Helper, name: str = "", topic: str = "", since: int = 0) -> Response:
    form = Form({"name": name})
    try:
        name = probe_name_typed(name) if name or not topic else ""
    except EntryRefused as refused:
        asked = visit.request.query_params.get("name") is not None
        form = form.wrong(refused.field, str(refused)) if asked else form
        return visit.page(_page(visit, form, None), 422 if asked else 200)
    return visit.page(_page(visit, form, Awaited(name, topic, since or to_ms(visit.now_at))))


@router.get(PART)
def connect_part(visit: Helper, name: str = "", topic: str = "", since: int = 0) -> Response:
    """What was heard meanwhile; asked for again while somebody waits."""
    awaited = Awaited(name, topic, since)
    with visit.looking() as db:
        book = load(db, visit.readings)
        rejected = visit.readings.counter("reject") if visit.readings else 0
        tag = (book.tag(), rejected, awaited)
        return visit.fragment(tag, lambda: _part(visit, db, book, awaited))


def _page(visit: Visit, form: Form, awaited: Awaited | None) -> ConnectPage:
    settings, owner = visit.house.settings, visit.person.may("owner")
    way_in = door(settings)
    with visit.looking() as db:
        part = _part(visit, db, load(db, visit.readings), awaited) if awaited else None
    name = awaited.name if awaited else ""
    return ConnectPage(
        title="Connect a probe",
        form=form,
        door=way_in,
        password=settings.secret(PASSWORD).get_secret_value() if owner and way_in.user else "",
        topic=topic_of(name) if name else awaited.topic if awaited else "",
        sample=sample(name) if name else "",
        part=part,
        path=f"{PART}?{awaited.query}" if awaited else "",
        again=f"{PATH}?{awaited.query}" if awaited else "",
        may_change=owner,
    )


def _part(visit: Visit, db: Connection, book: Book, awaited: Awaited) -> ConnectPart:
    readings, waits_for = visit.readings, awaited.name or awaited.topic
    places = place_words(open_places(db))
    may_change = visit.person.may("owner")
    if readings is None:
        return ConnectPart((), (), places, waits_for, may_change)
    known = load_known(db, visit.now_at)
    names = [
        seen.name
        for seen in book.seen.values()
        if seen.last_ms >= awaited.since_ms and awaited.meets(seen.name, seen.topic) and not is_typed(seen.name)
    ]
    heard = [
        Heard(probe(book, readings, known, visit.household, name, visit.now_at), _newest(readings, book, name))
        for name in names[:MOST_HEARD]
    ]
    return ConnectPart(tuple(heard), _rejected(readings, awaited), places, waits_for, may_change)


def _newest(readings: Readings, book: Book, name: str) -> Message | None:
    kept = [row for row in readings.last_messages(name) if row[1]]
    return message(*kept[0], hints_of(book.choice(name))) if kept else None


def _rejected(readings: Readings, awaited: Awaited) -> tuple[NotUnderstood, ...]:
    """What came meanwhile under the awaited topic and could not be understood."""
    own = [row for row in readings.rejects() if row[4] >= awaited.since_ms and awaited.meets(_probe_of(row[0]), row[0])]
    return tuple(not_understood(own)[:MOST_REJECTED])


def _probe_of(topic: str) -> str:
    """The probe that a topic of ours belongs to; another topic is its own probe."""
    levels = topic.split("/")
    return levels[1] if len(levels) == 3 and topic_of(levels[1]) == topic else topic
