"""What was entered lately, of everything: corrected or taken back from here, one entry or all of one touch."""

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import ClassVar

from fastapi import APIRouter, HTTPException
from sqlalchemy import Connection, select
from starlette.responses import Response

from collector.records.places import places
from dashboard import words
from dashboard.packed_answer import packed
from dashboard.rounds.correcting import CORRECTABLE
from dashboard.rounds.entry_words import entry_words
from dashboard.rounds.kept_lately import kept_lately
from dashboard.rounds.posted import many, store
from dashboard.rounds.undoing import withdrawal
from dashboard.visit import Guest, Helper, Visit
from dashboard.wheels import tables
from dashboard.wheels.book import gear, own_words, wheels
from dashboard.wheels.entry_rows import entries_where, standing_where
from dashboard.wheels.flags import words_of
from dashboard.wheels.model import Entry
from dashboard.worker import LATELY_FILE

router = APIRouter()
PATH = "/round/entered"
SHOWN = 200  # some rounds of a cellar of sixty wheels; our choice


@dataclass(frozen=True, slots=True)
class EnteredLine:
    """One entry: about what, what happened, when and by whom."""

    id: str
    about: str
    path: str
    word: str
    when: str
    text: str
    flags: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class EnteredGroup:
    """What was entered in one touch. `id`: by which all of it is taken back; "" where there is but one."""

    id: str
    said: str
    lines: Sequence[EnteredLine]


@dataclass(frozen=True, slots=True)
class EnteredPage:
    template: ClassVar[str] = "entered.html"
    title: str
    groups: Sequence[EnteredGroup]
    may_change: bool


@router.get(PATH)
def entered(visit: Guest) -> Response:
    with visit.looking() as db:
        latest = _latest(db)
        about, own = _abouts(db), own_words(db)
    groups = []
    for group_id, some in groupby(latest, key=lambda entry: entry.group_id or entry.id):
        lines = [_line(entry, about, own, visit) for entry in some]
        said = f"{lines[0].word}: {many(len(lines), 'entry', 'entries')}, {lines[0].when}"
        groups.append(EnteredGroup(group_id if len(lines) > 1 else "", said, lines))
    return visit.page(EnteredPage("Entered lately", groups, visit.person.may("helper")))


def _latest(db: Connection) -> list[Entry]:
    """The latest entries that still stand, the newest first."""
    c = tables.entry.c
    recent = select(c.id).where(c.kind.in_(CORRECTABLE)).order_by(c.happened_at.desc(), c.id.desc()).limit(2 * SHOWN)
    ids = list(db.execute(recent).scalars())
    return standing_where(db, c.id.in_(ids))[::-1][:SHOWN]


def _abouts(db: Connection) -> dict[str, tuple[str, str]]:
    """Name and page of whatever an entry can be about, by its id."""
    found = {place.id: (place.name, f"/round#s-{place.id}") for place in places(db)}
    found |= {one.id: (one.name or one.gear, f"/gear/{one.id}") for one in gear(db)}
    return found | {wheel.id: (wheel.code or "no code", f"/at/{wheel.id}") for wheel in wheels(db)}


def _line(
    entry: Entry, about: Mapping[str, tuple[str, str]], own: Mapping[tuple[str, str], str], visit: Visit
) -> EnteredLine:
    name, path = about.get(entry.wheel_id or entry.gear_id or entry.place_id or "", ("", ""))
    by = f", {entry.who}" if entry.who else ""
    when = words.moment(entry.happened_at, visit.now_at, visit.household)
    word = entry_words(entry, own, visit.household)
    return EnteredLine(entry.id, name, path, word, when + by, entry.body.text, tuple(words_of(entry.flags)))


@router.get(LATELY_FILE)
def lately_file(visit: Helper) -> Response:
    """What a phone keeps of the latest entries about each wheel."""
    with visit.looking() as db:
        found = kept_lately(db, visit.now_at, visit.household)
    body = json.dumps({"wheels": found}, ensure_ascii=False, separators=(",", ":")).encode()
    return packed(visit.request.headers, body, "application/json", {"Cache-Control": "no-store"})


@router.post("/round/entered/undo/{entry_id}")
def take_back(visit: Helper, entry_id: str) -> Response:
    """One entry did not happen. It stays in the book, and so does this."""
    c = tables.entry.c
    with visit.looking() as db:
        found = entries_where(db, c.id == entry_id, c.kind.in_(CORRECTABLE))
    if not found:
        raise HTTPException(404)
    store(visit, [withdrawal(found[0], visit.now_at, visit.household.time_zone)])
    return visit.go(PATH, "Taken back.")
