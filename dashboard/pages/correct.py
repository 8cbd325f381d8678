"""An entry corrected: the form of its kind as it was typed. What is kept now is added, and the old one stays."""

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, ClassVar

from fastapi import APIRouter, HTTPException
from sqlalchemy import Connection
from starlette.responses import Response

from collector.errors import EntryRefused
from collector.records.columns import new_id
from dashboard import forms, words
from dashboard.errors_shown import Trouble
from dashboard.rounds.choices import FIXED, Choices, choices, known
from dashboard.rounds.correcting import CORRECTABLE, corrected, for_script, form_texts
from dashboard.rounds.entering import OWN_WORD, sheet_of
from dashboard.rounds.entry_words import entry_words
from dashboard.rounds.posted import Doubted, Form, Posted, asked, flagged, keep_photos, store
from dashboard.rounds.typed import FORMS, SHAPES
from dashboard.visit import Helper, Visit
from dashboard.wheels import tables
from dashboard.wheels.book import gear, own_words, wheels
from dashboard.wheels.entries import NewEntry
from dashboard.wheels.entry_rows import entries_where
from dashboard.wheels.kinds.care import CARE_KINDS
from dashboard.wheels.kinds.chores import CHORE_KINDS
from dashboard.wheels.kinds.coverings import COVERINGS
from dashboard.wheels.kinds.endings import ENDINGS
from dashboard.wheels.model import Entry
from dashboard.wheels.photos import MAX_BYTES
from dashboard.wheels_shown.naming import place_names
from dashboard.worker import ANY_CORRECTION_PAGE

router = APIRouter()
NO_ENTRY = Trouble(404, "There is no such entry.", "It may not have reached the book yet; look again in a while.")
OUT = Trouble(404, "This entry was corrected or taken back already.", "Open its wheel and correct what stands there.")
RESTS = {"eaten": "eaten", "sold": "sold", "given": "given away", "thrown": "thrown away"}
NO_SIGNAL_KINDS = tuple(kind for kind in (*FORMS, *SHAPES) if kind != "note")  # a note's form is that of a rind note
OWN = "a word of my own..."


@dataclass(frozen=True, slots=True)
class Offered:
    """What the forms of a correction offer, each as words by value."""

    choices: Choices
    cares: Mapping[str, str]
    chores: Mapping[str, str]
    gear: Mapping[str, str]
    places: Mapping[str, str]
    coverings: Mapping[str, str]
    endings: Mapping[str, str]
    fixed: Mapping[str, Any]
    doubt: str = ""
    rests: Mapping[str, str] = field(default_factory=lambda: RESTS)

    @property
    def five(self) -> Sequence[tuple[int, int]]:
        return [(number, number) for number in range(1, 6)]


@dataclass(frozen=True, slots=True)
class CorrectPage:
    """`entry_id` is "any" for the page that a phone keeps, which fills itself in; `corrects`: for the script."""

    template: ClassVar[str] = "correct.html"
    title: str
    entry_id: str
    kinds: Sequence[str]
    said: str
    back: str
    corrects: str
    seed: str
    form: forms.Form
    offered: Offered


def _offered(db: Connection, visit: Visit, doubt: str = "") -> Offered:
    own = own_words(db)
    return Offered(
        choices(db, visit.household),
        {**{kind.name: kind.word for kind in CARE_KINDS.values()}, **_own(own, "care"), OWN_WORD: OWN},
        {**{kind.name: kind.word for kind in CHORE_KINDS.values()}, **_own(own, "chore"), OWN_WORD: OWN},
        {one.id: one.name or one.gear for one in gear(db, tables.gear.c.gear != "scale")},
        place_names(db),
        {name: row.word for name, row in COVERINGS.items()},
        {name: row.word for name, row in ENDINGS.items()},
        FIXED,
        doubt,
    )


def _own(own: Mapping[tuple[str, str], str], of: str) -> dict[str, str]:
    return {name: word for (kind, name), word in own.items() if kind == of}


@router.get(ANY_CORRECTION_PAGE)
def any_correction(visit: Helper) -> Response:
    """The page of no entry in particular: a phone keeps it and fills it in without a signal."""
    with visit.looking() as db:
        offered = _offered(db, visit)
    page = CorrectPage(
        "Correct it", "any", NO_SIGNAL_KINDS, "", "/waiting", "", new_id(), forms.Form(), offered
    )  # fmt: skip
    return visit.page(page)


@router.get("/correct/{entry_id}")
def correct(visit: Helper, entry_id: str) -> Response:
    with visit.looking() as db:
        entry = _found(db, entry_id)
        if entries_where(db, tables.entry.c.replaces == entry_id):
            raise HTTPException(404, OUT)
    return visit.page(_page(visit, entry, forms.Form(form_texts(entry, visit.household))))


def _found(db: Connection, entry_id: str) -> Entry:
    """The entry, also when its correction is here already: a form that is sent twice must not be refused."""
    c = tables.entry.c
    found = entries_where(db, c.id == entry_id, c.kind.in_(CORRECTABLE))
    if not found:
        raise HTTPException(404, NO_ENTRY)
    return found[0]


def _page(visit: Visit, entry: Entry, form: forms.Form, doubt: str = "") -> CorrectPage:
    with visit.looking() as db:
        offered = _offered(db, visit, doubt)
        code = _code(db, entry)
        word = entry_words(entry, own_words(db), visit.household)
    when = words.moment(entry.happened_at, visit.now_at, visit.household)
    by = f", by {entry.who}" if entry.who else ""
    corrects = json.dumps(for_script(entry, visit.household))
    seed = form.text("seed") or new_id()
    return CorrectPage(
        "Correct it",
        entry.id,
        (entry.kind,),
        f"{code}{word}, {when}{by}",
        back_of(entry),
        corrects,
        seed,
        form,
        offered,
    )


def _code(db: Connection, entry: Entry) -> str:
    found = wheels(db, tables.wheel.c.id == entry.wheel_id) if entry.wheel_id else []
    return f"{found[0].code}: " if found and found[0].code else ""


def back_of(entry: Entry) -> str:
    """The page on which an entry is shown."""
    if entry.wheel_id:
        return f"/at/{entry.wheel_id}"
    return f"/gear/{entry.gear_id}" if entry.gear_id else "/round/entered"


@router.post("/correct/{entry_id}", max_body_size=MAX_BYTES)
def keep(visit: Helper, entry_id: str, posted: Form) -> Response:
    """The correction; sending the form again changes nothing."""
    with visit.looking() as db:
        entry = _found(db, entry_id)
    form = forms.Form({**posted.texts, "replaces": entry_id})
    try:
        return _keep(visit, entry, posted)
    except Doubted as doubted:
        said = str(doubted)
        return visit.refused(_page(visit, entry, form, f"{said[:1].upper()}{said[1:]}"))
    except EntryRefused as refused:
        return visit.refused(_page(visit, entry, form.wrong(refused.field, str(refused))))


def _keep(visit: Visit, entry: Entry, posted: Posted) -> Response:
    said = asked(visit, posted)
    sheet = sheet_of(said, entry.id, "correct")
    with visit.looking() as db:
        names = known(db)
    news = corrected(entry, said, sheet, names)
    news[-1] = _more_photos(news[-1], keep_photos(visit, posted, sheet.seed))
    stored = store(visit, news, doubt=not said.text("insisted"))
    path = back_of(entry)
    return visit.go(path, f"Corrected. {flagged(stored)}".strip(), undo=f"/round/undo/{sheet.group_id}?back={path}")


def _more_photos(new: NewEntry, photos: Sequence[str]) -> NewEntry:
    """The entry with more photos beside those that it has."""
    if not photos:
        return new
    every = (*new.body.photos, *photos)
    return new.model_copy(update={"body": new.body.model_copy(update={"photos": every})})
