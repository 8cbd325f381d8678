"""The round: shelves in the person's own order, one touch per care, the same with and without script."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import partial
from typing import Any, ClassVar
from urllib.parse import quote

from fastapi import APIRouter, HTTPException
from markupsafe import Markup
from starlette.responses import JSONResponse, Response

from collector.errors import EntryRefused
from collector.records.columns import new_id
from dashboard import forms
from dashboard.errors_shown import Trouble
from dashboard.navigation import Nav
from dashboard.packed_answer import packed
from dashboard.paths import own_path
from dashboard.rounds.actions import LEFT, LOOKED, SHELF_PHOTO, Action, read_action
from dashboard.rounds.choices import FIXED, Choices, choices, known
from dashboard.rounds.entering import Sheet, place_entries, sheet_of, shelf_entries, shelf_photo_entry
from dashboard.rounds.gathered import gathered
from dashboard.rounds.model import Round
from dashboard.rounds.posted import Form, Posted, asked, flagged, keep_photos, many, store, with_photos
from dashboard.rounds.row_words import care_word
from dashboard.rounds.shelves import NOWHERE
from dashboard.rounds.undoing import undoing
from dashboard.visit import Guest, Helper, Visit
from dashboard.wheels import tables
from dashboard.wheels.book import own_words
from dashboard.wheels.entry_rows import entries_where
from dashboard.wheels.kept_by_facts import KeptByFacts
from dashboard.wheels.photos import MAX_BYTES
from dashboard.worker import KEPT_FILE, ROUND_PAGE

router = APIRouter()
NAV = Nav("Round", ROUND_PAGE, "round", "bar", 20)
_LINES = KeptByFacts[Markup]()
WHOLE_ROUND = Trouble(404, "There is no such entry.", "It may have been taken back already.")


@dataclass(frozen=True, slots=True)
class RoundPage:
    """`lines`: each wheel's line as it is written, by wheel id."""

    template: ClassVar[str] = "round.html"
    title: str
    round: Round
    choices: Choices
    seed: str
    kept: Markup
    may_change: bool
    form: forms.Form
    fixed: dict[str, Any]
    lines: Mapping[str, Markup]


@router.get(ROUND_PAGE)
def show_round(visit: Guest) -> Response:
    with visit.looking() as db:
        found = gathered(db, visit.now_at, visit.household)
        offered = choices(db, visit.household)
    may = visit.person.may("helper")
    lines = _lines(visit, found.round, may)
    page = RoundPage("Round", found.round, offered, new_id(), found.kept_text, may, forms.Form(), FIXED, lines)
    answer = visit.page(page)
    return packed(visit.request.headers, bytes(answer.body), "text/html", {"Cache-Control": "no-store"})


def _lines(visit: Visit, found: Round, may: bool) -> dict[str, Markup]:
    """The lines of all wheels; written anew only where a row says something else."""
    write = visit.house.templates.macro("parts/round.html", "wheel_line", visit.household)
    rows = [row for shelf in found.shelves for row in shelf.rows]
    return {row.wheel.id: _LINES.get((row.wheel.id, may), (row,), partial(write, row, may)) for row in rows}


@router.get(KEPT_FILE)
def kept_file(visit: Guest) -> Response:
    """What a phone keeps of the round for a wheel's own page."""
    with visit.looking() as db:
        found = gathered(db, visit.now_at, visit.household).kept(visit.household)
    return JSONResponse(found, headers={"Cache-Control": "no-store"})


@router.post("/round/shelf/{place_id}", max_body_size=MAX_BYTES)
def do_shelf(visit: Helper, place_id: str, posted: Form) -> Response:
    """What was touched on a shelf: one button for a wheel, or one for all that are marked."""
    value, _, one = posted.texts.get("one", "").partition(":")
    wheels = [one] if one else posted.wheels
    try:
        action = read_action(value or posted.texts.get("do", ""))
        sheet = sheet_of(asked(visit, posted), place_id, action.name, one)
        if action.name == SHELF_PHOTO:
            return _shelf_photo(visit, place_id, posted, sheet)
        news = shelf_entries(action, wheels, sheet, asked(visit, posted))
        photos = keep_photos(visit, posted, sheet.seed)
        stored = store(visit, [with_photos(new, photos) for new in news])
    except EntryRefused as refused:
        return visit.go(_at_shelf(place_id), f"Not kept: {refused}")
    said = f"{_action_words(visit, action)}: {many(len(stored))}. {flagged(stored)}"
    return visit.go(_at_shelf(place_id), said.strip(), undo=f"/round/undo/{sheet.group_id}")


def _shelf_photo(visit: Visit, place_id: str, posted: Posted, sheet: Sheet) -> Response:
    """A photo of all that stands there, whether it is marked or not."""
    stored = store(visit, [shelf_photo_entry(place_id, keep_photos(visit, posted, sheet.seed), sheet)])
    said = f"Photo of the shelf: all that stands there counts as looked at. {flagged(stored)}".strip()
    return visit.go(_at_shelf(place_id), said, undo=f"/round/undo/{sheet.group_id}")


def _at_shelf(place_id: str) -> str:
    return f"{ROUND_PAGE}#s-{quote(place_id, safe='')}" if place_id != NOWHERE else ROUND_PAGE


def _action_words(visit: Visit, action: Action) -> str:
    if action.name == LEFT:
        return "What was missed is left, counting from today"
    with visit.looking() as db:
        word = care_word(action.name, own_words(db))
    said = f"{word}, nothing new" if action.clean or action.name == LOOKED else word
    return said[:1].upper() + said[1:]


@router.post("/round/chores/{place_id}")
def do_chore(visit: Helper, place_id: str, posted: Form) -> Response:
    try:
        sheet = sheet_of(asked(visit, posted), place_id, posted.texts.get("chore", ""))
        with visit.looking() as db:
            names = known(db)
        stored = store(visit, place_entries(asked(visit, posted), place_id, sheet, names))
    except EntryRefused as refused:
        return visit.go(_at_shelf(place_id), f"Not kept: {refused}")
    return visit.go(_at_shelf(place_id), f"Done. {flagged(stored)}".strip(), undo=f"/round/undo/{sheet.group_id}")


@router.post("/round/undo/{group_id}")
def undo(visit: Helper, group_id: str, back: str = ROUND_PAGE) -> Response:
    """Take back what was entered together. Twice is the same as once."""
    with visit.looking() as db:
        group = [e for e in entries_where(db, tables.entry.c.group_id == group_id) if e.kind != "withdrawn"]
        if not group:
            raise HTTPException(404, WHOLE_ROUND)
        news = undoing(db, group, visit.now_at, visit.household.time_zone)
    store(visit, news)
    return visit.go(own_path(back, ROUND_PAGE), f"Taken back: {many(len(group), 'entry', 'entries')}.")
