"""Boards, scales, brine tubs, wash jars, brushes: what each weighs or holds, and what was done with it."""

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
from dashboard.rounds.choices import FIXED
from dashboard.rounds.correcting import CORRECTABLE
from dashboard.rounds.entering import Sheet, gear_entries, sheet_of
from dashboard.rounds.gear_lines import check_words, gear_line, last_check
from dashboard.rounds.model import GearLine
from dashboard.rounds.posted import Form, Posted, asked, flagged, store
from dashboard.rounds.seeded import seeded_id
from dashboard.rounds.typed import Asked, grams
from dashboard.visit import Guest, Helper, Visit
from dashboard.wheels import tables
from dashboard.wheels.book import Gear, gear, gear_history, own_words
from dashboard.wheels.entries import NewEntry
from dashboard.wheels.kinds.gear import GEAR_KINDS
from dashboard.wheels.model import Entry
from dashboard.wheels.timeline import word_of

router = APIRouter()
NO_GEAR = Trouble(404, "There is no such board, scale or jar.", "Go back and take one from the list.")
SHOWN = 200


@dataclass(frozen=True, slots=True)
class GearsPage:
    template: ClassVar[str] = "gears.html"
    title: str
    lines: Sequence[GearLine]
    kinds: Mapping[str, str]
    seed: str
    may_change: bool
    form: forms.Form = field(default_factory=forms.Form)


@dataclass(frozen=True, slots=True)
class Happened:
    when: str
    word: str
    text: str
    who: str
    wheel_id: str
    correct: str


@dataclass(frozen=True, slots=True)
class GearPage:
    template: ClassVar[str] = "gear.html"
    title: str
    line: GearLine
    history: Sequence[Happened]
    seed: str
    may_change: bool
    form: forms.Form
    fixed: dict[str, Any] = field(default_factory=lambda: FIXED)


@router.get("/gear")
def all_gear(visit: Guest) -> Response:
    return visit.page(_gears(visit, forms.Form()))


def _gears(visit: Visit, form: forms.Form) -> GearsPage:
    with visit.looking() as db:
        found = gear(db, tables.gear.c.retired.is_(False))
        lines = [gear_line(one, last_check(db, one.id), visit.now_at, visit.household) for one in found]
    kinds = {name: kind.word for name, kind in GEAR_KINDS.items()}
    return GearsPage("Boards, scales, brine", lines, kinds, new_id(), visit.person.may("helper"), form)


@router.post("/gear")
def add(visit: Helper, posted: Form) -> Response:
    """A new piece of gear."""
    try:
        sheet = sheet_of(asked(visit, posted))
        new = _sheet_entry(asked(visit, posted), seeded_id(sheet.seed, "gear"), sheet)
    except EntryRefused as refused:
        return visit.refused(_gears(visit, forms.Form(posted.texts).wrong(refused.field, str(refused))))
    store(visit, [new])
    return visit.go("/gear", "Kept.", undo=f"/round/undo/{sheet.group_id}?back=/gear")


def _sheet_entry(said: Asked, gear_id: str, sheet: Sheet, **more: Any) -> NewEntry:
    kind, name = said.text("gear"), said.text("name")
    if kind not in GEAR_KINDS:
        raise EntryRefused("gear", "Say what it is.")
    if not name:
        raise EntryRefused("name", "Give it a name, like Board 3.")
    body: dict[str, Any] = {"kind": "gear", "gear": kind, "name": name[:120], **more}
    weight = {"board": "tare_g", "scale": "step_g"}.get(kind)
    if weight and said.text("weight"):
        body[weight] = grams(said, "weight")
    if said.text("holds"):
        body["holds"] = said.text("holds")[:120]
    return sheet.entry(body, gear_id, gear_id=gear_id)


def _one(db: Connection, gear_id: str) -> Gear:
    found = gear(db, tables.gear.c.id == gear_id)
    if not found:
        raise HTTPException(404, NO_GEAR)
    return found[0]


@router.get("/gear/{gear_id}")
def one_gear(visit: Guest, gear_id: str) -> Response:
    return visit.page(_gear(visit, gear_id, forms.Form()))


def _gear(visit: Visit, gear_id: str, form: forms.Form) -> GearPage:
    with visit.looking() as db:
        own = _one(db, gear_id)
        line = gear_line(own, last_check(db, gear_id), visit.now_at, visit.household)
        told = [_happened(entry, own_words(db), visit) for entry in gear_history(db, gear_id)[: -SHOWN - 1 : -1]]
    return GearPage(own.name or line.word, line, told, new_id(), visit.person.may("helper"), form)


def _happened(entry: Entry, own: Mapping[tuple[str, str], str], visit: Visit) -> Happened:
    word = ", ".join(check_words(entry, visit.household)) or word_of(entry.body, own)
    when = words.moment(entry.happened_at, visit.now_at, visit.household)
    correct = f"/correct/{entry.id}" if entry.kind in CORRECTABLE else ""
    return Happened(when, word, entry.body.text, entry.who, entry.wheel_id or "", correct)


@router.post("/gear/{gear_id}/check")
def check(visit: Helper, gear_id: str, posted: Form) -> Response:
    """What was measured or done with it."""
    try:
        return _kept(visit, gear_id, posted)
    except EntryRefused as refused:
        return visit.refused(_gear(visit, gear_id, forms.Form(posted.texts).wrong(refused.field, str(refused))))


def _kept(visit: Visit, gear_id: str, posted: Posted) -> Response:
    sheet = sheet_of(asked(visit, posted), gear_id)
    stored = store(visit, gear_entries(asked(visit, posted), gear_id, sheet))
    path = f"/gear/{gear_id}"
    return visit.go(path, f"Kept. {flagged(stored)}".strip(), undo=f"/round/undo/{sheet.group_id}?back={path}")


@router.post("/gear/{gear_id}/change")
def change(visit: Helper, gear_id: str, posted: Form) -> Response:
    """Another name, tare or step from now on, or out of use; what was weighed on it before stays as it was."""
    said = asked(visit, posted)
    try:
        with visit.looking() as db:
            kind = _one(db, gear_id).gear
        sheet = sheet_of(said, gear_id, "change")
        new = _sheet_entry(
            Asked({**said.texts, "gear": kind}, said.household, said.now_at), gear_id, sheet,
            retired=bool(said.text("retired")), holds=said.text("holds")[:120],
        )  # fmt: skip
    except EntryRefused as refused:
        return visit.refused(_gear(visit, gear_id, forms.Form(posted.texts).wrong(refused.field, str(refused))))
    if said.text("retired"):
        new = new.model_copy(
            update={"body": type(new.body)(**{**new.body.model_dump(exclude_unset=True), "retired": True})}
        )
    store(visit, [new])
    return visit.go("/gear", "Kept.", undo=f"/round/undo/{sheet.group_id}?back=/gear")
