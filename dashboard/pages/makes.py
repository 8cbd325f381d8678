"""Makes: the list, a new one or one made again, its sheet with "now" buttons, its wheels, and its card."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any, ClassVar

from fastapi import APIRouter, HTTPException
from sqlalchemy import Connection
from starlette.responses import Response

from collector.errors import EntryRefused
from collector.records.columns import new_id
from dashboard import words
from dashboard.errors_shown import Trouble
from dashboard.forms import Form
from dashboard.rounds.entering import Sheet, sheet_of
from dashboard.rounds.posted import store
from dashboard.rounds.row_words import style_word
from dashboard.rounds.seeded import seeded_id
from dashboard.rounds.shelves import Looked, look
from dashboard.rounds.typed import Asked
from dashboard.visit import Guest, Helper, Texts, Visit
from dashboard.wheels import tables
from dashboard.wheels.bodies.make import MakeSheet
from dashboard.wheels.book import Make, gear, makes
from dashboard.wheels.entries import NewEntry
from dashboard.wheels.family import Again, make_again, milk_words
from dashboard.wheels_shown.make_fields import (
    GROUPS,
    HEATS,
    MILKS,
    ROW_LABELS,
    ROWS,
    STEPS,
    Group,
    changed_fields,
    rows_of,
    step_done,
    texts_of,
)
from dashboard.wheels_shown.naming import FRESH, fresh_style, style_names
from dashboard.wheels_shown.one import make_words

router = APIRouter()
PATH = "/makes"
NO_MAKE = Trouble(404, "There is no such make.", "Find it on the list of makes.")
NO_CHOICE = {"": "not said"}


@dataclass(frozen=True, slots=True)
class Line:
    """One make of the list."""

    id: str
    called: str
    about: str


@dataclass(frozen=True, slots=True)
class MakesPage:
    template: ClassVar[str] = "makes.html"
    title: str
    lines: tuple[Line, ...]
    may_change: bool


@dataclass(frozen=True, slots=True)
class SheetPage:
    """The form of a make. `make_id` "" for a new one; `again`: what stands on top when one is made again."""

    template: ClassVar[str] = "make_sheet.html"
    title: str
    make_id: str
    form: Form
    seed: str
    rows: Mapping[str, int]
    choices: Mapping[str, Mapping[str, str]]
    done: Mapping[str, str]
    sheet: MakeSheet
    again: Again | None = None
    groups: tuple[Group, ...] = GROUPS
    steps: Mapping[str, str] = field(default_factory=lambda: STEPS)
    row_parts: Mapping[str, tuple[str, ...]] = field(default_factory=lambda: ROWS)
    row_labels: Mapping[str, str] = field(default_factory=lambda: ROW_LABELS)


@router.get(PATH)
def every(visit: Guest) -> Response:
    with visit.looking() as db:
        looked = look(db, visit.now_at, visit.household)
        lines = tuple(_line(make, looked) for make in makes(db))
    return visit.page(MakesPage("Makes", lines, visit.person.may("helper")))


def _line(make: Make, looked: Looked) -> Line:
    on = words.long_date(make.made_on, looked.household) if make.made_on and make.code else ""
    style = style_word(looked.styles.get(make.style_id or ""))
    about = ", ".join(part for part in (style, on, *milk_words(make.sheet)) if part)
    return Line(make.id, make_words(make, looked.household), about)


@router.get("/makes/new")
def new(visit: Helper, again: str = "") -> Response:
    with visit.looking() as db:
        made = make_again(db, again) if again else None
    sheet = made.sheet if made else MakeSheet()
    texts = texts_of(sheet, visit.household) | {
        "made_on": words.local(visit.now_at, visit.household).date().isoformat()
    }
    return visit.page(_page(visit, "", sheet, Form(texts), made))


@router.post("/makes/new")
def begin(visit: Helper, texts: Texts) -> Response:
    """A new make; its id comes from the form's seed, so that sending it twice begins one."""
    return _keep(visit, "", MakeSheet(), texts)


@router.get("/makes/{make_id}/sheet")
def sheet(visit: Helper, make_id: str) -> Response:
    make = found_make(visit, make_id)
    return visit.page(_page(visit, make_id, make.sheet, Form(texts_of(make.sheet, visit.household))))


@router.post("/makes/{make_id}/sheet")
def change(visit: Helper, make_id: str, texts: Texts) -> Response:
    return _keep(visit, make_id, found_make(visit, make_id).sheet, texts)


def found_make(visit: Visit, make_id: str) -> Make:
    """The make of a path, or the answer that there is none."""
    with visit.looking() as db:
        found = makes(db, tables.make.c.id == make_id)
    if not found:
        raise HTTPException(404, NO_MAKE)
    return found[0]


def _keep(visit: Visit, make_id: str, before: MakeSheet, texts: Mapping[str, str]) -> Response:
    """Keep what was changed; a "now" button keeps all that was typed too, and stays at the sheet."""
    asked, step = Asked(texts, visit.household, visit.now_at), texts.get("now", "")
    try:
        own = sheet_of(asked, "make", step)
        id_ = make_id or seeded_id(texts["seed"], "make")
        fields = changed_fields(asked, before) | (step_done(step, visit.now_at) if step else {})
        if fields or not make_id:
            store(visit, _entries(id_, fields, own))
    except EntryRefused as refused:
        return visit.refused(_page(visit, make_id, before, Form(texts).wrong(refused.field, str(refused))))
    said = f"{STEPS[step]}: {words.clock_time(visit.now_at, visit.household)}." if step else "Kept."
    return visit.go(f"/makes/{id_}/sheet" if step else f"/makes/{id_}", said,
                    undo=f"/round/undo/{own.group_id}?back=/makes" if fields else "")  # fmt: skip


def _entries(make_id: str, fields: dict[str, Any], own: Sheet) -> list[NewEntry]:
    chosen = str(fields.get("style_id") or "")
    style = fresh_style(chosen)
    before: list[NewEntry] = []
    if style is not None:
        fields["style_id"] = seeded_id(own.seed, "style", chosen.removeprefix(FRESH))
        before = [own.entry(style, chosen, style_id=fields["style_id"])]
    return [*before, own.entry({"kind": "make", **fields}, make_id, make_id=make_id)]


def _page(visit: Visit, make_id: str, sheet: MakeSheet, form: Form, again: Again | None = None) -> SheetPage:
    with visit.looking() as db:
        choices = _choices(db)
    rows = {one.name: rows_of(one, sheet) for group in GROUPS for one in group.fields}
    done = {name: _done(getattr(sheet, name), visit) for name in STEPS}
    title = "Make it again" if again else "The sheet" if make_id else "A new make"
    return SheetPage(title, make_id, form, form.text("seed") or new_id(), rows, choices, done, sheet, again)


def _done(at: datetime | None, visit: Visit) -> str:
    return words.moment(at, visit.now_at, visit.household) if at else ""


def _choices(db: Connection) -> dict[str, Mapping[str, str]]:
    tubs = gear(db, tables.gear.c.gear == "brine")
    return {
        "style": {**NO_CHOICE, **style_names(db)}, "heat": HEATS, "species": MILKS,
        "brine": {**NO_CHOICE, **{tub.id: tub.name or "brine" for tub in tubs}},
    }  # fmt: skip
