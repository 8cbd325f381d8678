"""At one wheel: weigh, look, note, photograph, care, take out, taste; and take back what was entered lately."""

from dataclasses import dataclass, field
from typing import Any, ClassVar

from fastapi import APIRouter, HTTPException
from markupsafe import Markup
from starlette.responses import Response

from collector.errors import EntryRefused
from collector.records.columns import new_id
from dashboard import forms, words
from dashboard.charts.figure_text import figure_json
from dashboard.errors_shown import Trouble
from dashboard.rounds.choices import FIXED, Choices, choices, known
from dashboard.rounds.correcting import CORRECTABLE
from dashboard.rounds.entering import sheet_of, wheel_entries
from dashboard.rounds.entry_words import entry_words
from dashboard.rounds.kept import kept_wheels, lately, text_of
from dashboard.rounds.model import Row
from dashboard.rounds.posted import Doubted, Form, Posted, asked, flagged, keep_photos, store, with_photos
from dashboard.rounds.shelves import look, row
from dashboard.rounds.typed import FORMS
from dashboard.rounds.undoing import withdrawal
from dashboard.visit import Guest, Helper, Visit
from dashboard.wheels import tables
from dashboard.wheels.book import own_words, wheels
from dashboard.wheels.entry_rows import entries_where
from dashboard.wheels.flags import words_of
from dashboard.wheels.model import Entry
from dashboard.wheels.photos import MAX_BYTES
from dashboard.worker import ANY_WHEEL_PAGE

router = APIRouter()
ABOUT_WHEELS = frozenset(FORMS) - {"chore", "gear_check"}
NO_WHEEL = Trouble(404, "There is no such wheel.", "It may not have reached the book yet; look again in a while.")


@dataclass(frozen=True, slots=True)
class Line:
    """An entry as it is listed: when, what, and what was flagged; `may_correct`: it can be typed anew."""

    id: str
    when: str
    word: str
    text: str
    flags: tuple[str, ...]
    may_correct: bool


@dataclass(frozen=True, slots=True)
class AtWheelPage:
    """`wheel_id` is "any" for the page that a phone keeps, which fills itself in."""

    template: ClassVar[str] = "at_wheel.html"
    title: str
    wheel_id: str
    row: Row | None
    choices: Choices
    kept: dict[str, Any]
    kept_text: Markup
    seed: str
    may_change: bool
    lines: tuple[Line, ...] = ()
    form: forms.Form = field(default_factory=forms.Form)
    doubt: str = ""
    fixed: dict[str, Any] = field(default_factory=lambda: FIXED)


@router.get(ANY_WHEEL_PAGE)
def any_wheel(visit: Guest) -> Response:
    """The page of no wheel in particular: a phone keeps it and fills it in without a signal."""
    with visit.looking() as db:
        offered = choices(db, visit.household)
    may = visit.person.may("helper")
    return visit.page(AtWheelPage("A wheel", "any", None, offered, {}, figure_json({}), new_id(), may))


@router.get("/at/{wheel_id}")
def at_wheel(visit: Guest, wheel_id: str) -> Response:
    return visit.page(_page(visit, wheel_id, forms.Form()))


def _page(visit: Visit, wheel_id: str, form: forms.Form, doubt: str = "", seed: str = "") -> AtWheelPage:
    with visit.looking() as db:
        found = wheels(db, tables.wheel.c.id == wheel_id)
        if not found:
            raise HTTPException(404, NO_WHEEL)
        own = row(found[0], look(db, visit.now_at, visit.household))
        kept = kept_wheels(db, [own], visit.now_at, visit.household)
        offered = choices(db, visit.household)
        lines = tuple(_line(entry, own_words(db), visit) for entry in lately(db, wheel_id))
    return AtWheelPage(
        found[0].code or "A wheel without a code", wheel_id, own, offered, kept[wheel_id].value,
        text_of(kept), seed or new_id(), visit.person.may("helper"), lines, form, doubt,
    )  # fmt: skip


def _line(entry: Entry, own: dict[tuple[str, str], str], visit: Visit) -> Line:
    when = words.moment(entry.happened_at, visit.now_at, visit.household)
    by = f" ({entry.who})" if entry.who and entry.who != visit.person.name else ""
    said = entry_words(entry, own, visit.household) + by
    return Line(entry.id, when, said, entry.body.text, tuple(words_of(entry.flags)), entry.kind in CORRECTABLE)


@router.post("/at/{wheel_id}/{kind}", max_body_size=MAX_BYTES)
def enter(visit: Helper, wheel_id: str, kind: str, posted: Form) -> Response:
    """What one of the wheel's forms says."""
    if kind not in ABOUT_WHEELS:
        raise HTTPException(404)
    form = forms.Form(posted.texts)
    try:
        return _enter(visit, wheel_id, kind, posted)
    except Doubted as doubted:
        return visit.refused(_page(visit, wheel_id, form, _question(doubted), posted.texts.get("seed", "")))
    except EntryRefused as refused:
        return visit.refused(_page(visit, wheel_id, form.wrong(refused.field, str(refused))))


def _question(doubted: Doubted) -> str:
    said = str(doubted)
    return f"{said[:1].upper()}{said[1:]}"


def _enter(visit: Visit, wheel_id: str, kind: str, posted: Posted) -> Response:
    said = asked(visit, posted)
    if kind == "rind_note" and not said.text("note") and not said.text("own_word"):
        kind = "note"
    sheet = sheet_of(said, wheel_id, kind)
    with visit.looking() as db:
        names = known(db)
    news = wheel_entries(kind, wheel_id, said, sheet, names)
    photos = keep_photos(visit, posted, sheet.seed)
    if kind == "note" and not photos and not said.text("text"):
        raise EntryRefused("text", "Write something, or take a photo.")
    news[-1] = with_photos(news[-1], photos)
    stored = store(visit, news, doubt=not said.text("insisted"))
    path = f"/at/{wheel_id}"
    return visit.go(path, f"Kept. {flagged(stored)}".strip(), undo=f"/round/undo/{sheet.group_id}?back={path}")


@router.post("/at/{wheel_id}/undo/{entry_id}")
def take_back(visit: Helper, wheel_id: str, entry_id: str) -> Response:
    """One entry did not happen. It stays in the book, and so does this."""
    c = tables.entry.c
    with visit.looking() as db:
        # A photo of its shelf is taken back for all that stood there.
        found = entries_where(db, c.id == entry_id, (c.wheel_id == wheel_id) | (c.kind == "shelf_photo"))
    if not found or found[0].kind == "withdrawn":
        raise HTTPException(404)
    store(visit, [withdrawal(found[0], visit.now_at, visit.household.time_zone)])
    return visit.go(f"/at/{wheel_id}", "Taken back.")
