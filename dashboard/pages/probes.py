"""Probes: what each measures where, how it is, and what could not be understood."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import ClassVar

from fastapi import APIRouter
from sqlalchemy import Connection
from starlette.responses import Response

from collector.notify.known import load_known
from collector.readings.reader import Readings
from collector.readings.registry import MAX_PROBES
from dashboard.navigation import Nav
from dashboard.probes.book import Book, is_typed, load
from dashboard.probes.messages import NotUnderstood, not_understood
from dashboard.probes.shown import Probe, probe
from dashboard.visit import Guest, Visit

router = APIRouter()
PATH, PART = "/probes", "/probes/part"
NAV = Nav("Probes", PATH, "probes", "more", 20)
MOST_UNPLACED, MOST_NOT_UNDERSTOOD = 30, 12


@dataclass(frozen=True, slots=True)
class Group:
    """The probes of one place."""

    name: str
    probes: tuple[Probe, ...]


@dataclass(frozen=True, slots=True)
class ProbesPart:
    template: ClassVar[str] = "probes_part.html"
    unplaced: tuple[Probe, ...]
    more_unplaced: int
    groups: tuple[Group, ...]
    typed: tuple[Probe, ...]
    away: tuple[Probe, ...]
    rejected: tuple[NotUnderstood, ...]
    more_rejected: int
    counts: tuple[str, ...]
    may_change: bool


@dataclass(frozen=True, slots=True)
class ProbesPage:
    template: ClassVar[str] = "probes.html"
    title: str
    part: ProbesPart
    path: str
    etag: str
    may_change: bool


@router.get(PATH)
def probes(visit: Guest) -> Response:
    with visit.looking() as db:
        book = load(db, visit.readings)
        part = _part(visit, db, book)
    etag = visit.etag(_tag(visit, book))
    return visit.page(ProbesPage("Probes", part, PART, etag, visit.person.may("owner")))


@router.get(PART)
def probes_part(visit: Guest) -> Response:
    with visit.looking() as db:
        book = load(db, visit.readings)
        return visit.fragment(_tag(visit, book), lambda: _part(visit, db, book))


def _tag(visit: Visit, book: Book) -> tuple[object, ...]:
    rejected = visit.readings.counter("reject") if visit.readings else 0
    return (book.tag(), visit.readings.newest_change() if visit.readings else 0, rejected)


def _part(visit: Visit, db: Connection, book: Book) -> ProbesPart:
    readings = visit.readings
    if readings is None:
        return ProbesPart((), 0, (), (), (), (), 0, (), visit.person.may("owner"))
    known = load_known(db, visit.now_at)
    waiting = [name for name in book.seen if _is_unplaced(book, name)]
    waiting.sort(key=lambda name: -book.seen[name].last_ms)
    skipped = set(waiting[MOST_UNPLACED:])
    everyone = {
        name: probe(book, readings, known, visit.household, name, visit.now_at)
        for name in book.seen
        if name not in skipped
    }
    rest = [one for name, one in everyone.items() if name not in waiting]
    rejected = not_understood(readings.rejects())
    return ProbesPart(
        unplaced=tuple(everyone[name] for name in waiting[:MOST_UNPLACED]),
        more_unplaced=len(skipped),
        groups=_groups(book, [one for one in rest if one.place and not one.typed and not one.put_away]),
        typed=tuple(one for one in rest if one.typed and not one.put_away),
        away=tuple(one for one in rest if one.put_away or not (one.place or one.typed)),
        rejected=tuple(rejected[:MOST_NOT_UNDERSTOOD]),
        more_rejected=max(0, len(rejected) - MOST_NOT_UNDERSTOOD),
        counts=tuple(counted(readings)),
        may_change=visit.person.may("owner"),
    )


def _is_unplaced(book: Book, name: str) -> bool:
    """Nobody has said yet where it hangs, nor put it away."""
    return not (is_typed(name) or book.was_ever_placed(name) or book.choice(name).dismissed_at)


def _groups(book: Book, placed: list[Probe]) -> tuple[Group, ...]:
    order = {place.id: (place.position, place.name) for place in book.facts.places.values()}
    by_place: dict[str, list[Probe]] = {}
    for one in placed:
        if one.place is not None:
            by_place.setdefault(one.place.id, []).append(one)
    ids = sorted(by_place, key=lambda place_id: order[place_id])
    return tuple(Group(book.facts.places[place_id].name, tuple(by_place[place_id])) for place_id in ids)


COUNTERS: tuple[tuple[str, Callable[[int], str]], ...] = (
    ("conflict", lambda n: f"{_several(n, 'reading')} came again with another value; the later value holds."),
    ("probe_beyond_limit", lambda n: f"{_several(n, 'message')} of probes beyond the {MAX_PROBES:,}th left out."),
    ("reject", lambda n: f"{_several(n, 'message')} could not be understood in all."),
)


def _several(n: int, word: str) -> str:
    return f"{n:,} {word}" + ("" if n == 1 else "s")


def counted(readings: Readings) -> list[str]:
    """What was counted on the way in and a person should know, in words."""
    return [say(n) for name, say in COUNTERS if (n := readings.counter(name))]
