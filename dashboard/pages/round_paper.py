"""The round on paper: printed shelf by shelf with boxes, keyed in later with one time for all."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import time
from typing import ClassVar

from fastapi import APIRouter
from starlette.responses import Response

from collector.errors import EntryRefused
from collector.records.columns import new_id
from dashboard import forms, words
from dashboard.moments_typed import for_picker
from dashboard.packed_answer import packed
from dashboard.rounds.choices import RindChoice, choices, known
from dashboard.rounds.entering import sheet_of
from dashboard.rounds.gathered import gathered
from dashboard.rounds.kept import last_boards
from dashboard.rounds.keyed import keyed_entries
from dashboard.rounds.model import Shelf
from dashboard.rounds.posted import Form, Posted, asked, many, store
from dashboard.rounds.typed import WEIGHT_UNITS
from dashboard.visit import Guest, Helper, Visit
from dashboard.wheels.book import Gear
from dashboard.wheels.entries import NewEntry, Stored
from dashboard.wheels.flags import words_of

router = APIRouter()
PATH, KEY_IN = "/round/paper", "/round/paper/key-in"
MORNING = time(8)


@dataclass(frozen=True, slots=True)
class PaperPage:
    template: ClassVar[str] = "round_paper.html"
    title: str
    shelves: Sequence[Shelf]
    boards: Mapping[str, Gear]
    may_change: bool


@dataclass(frozen=True, slots=True)
class KeyInPage:
    template: ClassVar[str] = "round_key_in.html"
    title: str
    shelves: Sequence[Shelf]
    boards: Mapping[str, Gear]
    rind: Sequence[RindChoice]
    units: Mapping[str, str]
    seed: str
    form: forms.Form
    flagged: Sequence[str] = ()
    undo: str = ""
    kept: int = 0

    @property
    def typed(self) -> Mapping[str, str]:
        """What was typed before, without the blanks: three hundred wheels are asked for it."""
        return {name: text for name, text in self.form.texts.items() if text}


@router.get(PATH)
def paper(visit: Guest) -> Response:
    with visit.looking() as db:
        shelves, boards = gathered(db, visit.now_at, visit.household).round.shelves, last_boards(db)
    page = PaperPage("The round on paper", shelves, boards, visit.person.may("helper"))
    return _packed(visit, visit.page(page))


def _packed(visit: Visit, answer: Response) -> Response:
    """A page of hundreds of wheels, packed."""
    own = packed(visit.request.headers, bytes(answer.body), "text/html", {"Cache-Control": "no-store"})
    own.status_code = answer.status_code
    return own


@router.get(KEY_IN)
def key_in(visit: Helper) -> Response:
    return _packed(visit, visit.page(_page(visit, forms.Form({"when": _this_morning(visit)}))))


def _this_morning(visit: Visit) -> str:
    """Eight o'clock today, or yesterday's before that."""
    here = words.local(visit.now_at, visit.household)
    eight = here.replace(hour=MORNING.hour, minute=0, second=0, microsecond=0)
    return for_picker(eight, visit.household) if eight <= here else for_picker(visit.now_at, visit.household)


def _page(visit: Visit, form: forms.Form) -> KeyInPage:
    with visit.looking() as db:
        shelves = gathered(db, visit.now_at, visit.household).round.shelves
        offered, boards = choices(db, visit.household), last_boards(db)
    texts = {"unit": offered.unit, **form.texts}
    return KeyInPage(
        "Key in a round", shelves, boards, offered.rind, WEIGHT_UNITS, new_id(), forms.Form(texts, form.errors)
    )


@router.post(KEY_IN)
def keyed(visit: Helper, posted: Form) -> Response:
    """Everything that was ticked, at the one time that the page says."""
    form = forms.Form(posted.texts)
    try:
        news, group_id = _entries(visit, posted)
    except EntryRefused as refused:
        return _packed(visit, visit.refused(_page(visit, form.wrong(refused.field, str(refused)))))
    if not news:
        return _packed(visit, visit.refused(_page(visit, form.wrong("when", "Nothing was ticked or typed yet."))))
    stored = store(visit, news)
    undo = f"/round/undo/{group_id}?back={KEY_IN}"
    said = _flagged(visit, news, stored)
    if not said:
        return visit.go("/round", f"Kept: {many(len(news), 'entry', 'entries')}.", undo=undo)
    fresh = forms.Form({"when": posted.texts.get("when", "")})
    page = replace(_page(visit, fresh), flagged=said, undo=undo, kept=len(news))
    return _packed(visit, visit.page(page))


def _entries(visit: Visit, posted: Posted) -> tuple[list[NewEntry], str]:
    said = asked(visit, posted)
    if not said.text("when"):
        raise EntryRefused("when", "Say when all this was.")
    sheet = sheet_of(said, "keyed")
    with visit.looking() as db:
        shelves = gathered(db, visit.now_at, visit.household).round.shelves
        return keyed_entries(shelves, said, sheet, known(db)), sheet.group_id


def _flagged(visit: Visit, news: Sequence[NewEntry], stored: Sequence[Stored]) -> list[str]:
    """What was flagged, each with its wheel's code."""
    with visit.looking() as db:
        shelves = gathered(db, visit.now_at, visit.household).round.shelves
    codes = {row.wheel.id: row.wheel.code for shelf in shelves for row in shelf.rows}
    pairs = zip(news, stored, strict=True)
    return [f"{codes.get(new.wheel_id or '', '')}: {', '.join(words_of(one.flags))}" for new, one in pairs if one.flags]
