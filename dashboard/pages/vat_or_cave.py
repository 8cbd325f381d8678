"""Vat or cave?: from a rind note, or from a kind of note."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Annotated, ClassVar
from urllib.parse import quote

from fastapi import APIRouter, HTTPException, Query
from sqlalchemy import Connection, func, select, union_all
from starlette.responses import Response

from dashboard.errors_shown import Trouble
from dashboard.rounds.shelves import look
from dashboard.visit import Guest
from dashboard.wheels import tables
from dashboard.wheels.entry_kinds import ENTRY_KINDS
from dashboard.wheels.kinds.rind import RIND_KINDS
from dashboard.wheels.vat_time import bout_of
from dashboard.wheels_shown.vat_square import VatShown, kind_shown, kind_word, square_shown

router = APIRouter()
SPANS: dict[str, tuple[str, int]] = {
    "season": ("three months", 92),
    "year": ("a year", 365),
    "all": ("all years", 36_500),
}
FIRST = "season"
NO_NOTE = Trouble(404, "There is no such rind note.", "It may have been corrected: open the wheel and look there.")
NO_KIND = Trouble(404, "There is no such kind of rind note.", "Open a wheel that has it and look there.")


@dataclass(frozen=True, slots=True)
class Way:
    """A line that leads on."""

    path: str
    word: str
    chosen: bool = False


@dataclass(frozen=True, slots=True)
class VatPage:
    """`what`: the rind note in words. `spans`: how far back, for a kind of note; none for one note."""

    template: ClassVar[str] = "vat_or_cave.html"
    title: str
    what: str
    back_path: str
    back_word: str
    shown: VatShown
    spans: tuple[Way, ...]
    ways: tuple[Way, ...]


def note_path(note_id: str) -> str:
    """Where a rind note's question stands."""
    return f"/rind/notes/{note_id}/vat-or-cave"


def kind_path(kind: str) -> str:
    """Where the question of a kind of note stands."""
    return f"/rind/kinds/{quote(kind, safe='')}/vat-or-cave"


@router.get("/rind/notes/{note_id}/vat-or-cave")
def of_note(visit: Guest, note_id: str) -> Response:
    with visit.looking() as db:
        bout = bout_of(db, note_id, visit.household.zone)
        if bout is None:
            raise HTTPException(404, NO_NOTE)
        looked = look(db, visit.now_at, visit.household)
        shown = square_shown(db, bout, looked)
        code = db.execute(select(tables.wheel.c.code).where(tables.wheel.c.id == bout.wheel_id)).scalar() or ""
    what = kind_word(bout.kind, looked)
    named = code or "the wheel"
    ways = (Way(kind_path(bout.kind), f"Every wheel with {what}"),)
    page = VatPage(
        "Vat or cave?", _capital(f"{what} on {named}"), f"/wheels/{bout.wheel_id}", _capital(named), shown, (), ways
    )
    return visit.page(page)


@router.get("/rind/kinds/{kind}/vat-or-cave")
def of_kind(visit: Guest, kind: str, span: Annotated[str, Query(max_length=10)] = FIRST) -> Response:
    chosen = span if span in SPANS else FIRST
    with visit.looking() as db:
        if kind not in RIND_KINDS and not _own_kind(db, kind):
            raise HTTPException(404, NO_KIND)
        looked = look(db, visit.now_at, visit.household)
        shown = kind_shown(db, kind, _since(db, visit.now_at, SPANS[chosen][1]), looked)
    path = kind_path(kind)
    spans = tuple(Way(f"{path}?span={name}", word, name == chosen) for name, (word, _) in SPANS.items())
    return visit.page(VatPage("Vat or cave?", _capital(kind_word(kind, looked)), "/wheels", "Wheels", shown, spans, ()))


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _own_kind(db: Connection, kind: str) -> bool:
    c = tables.own_kind.c
    return db.execute(select(c.name).where(c.of == "rind_note", c.name == kind)).first() is not None


def _since(db: Connection, now_at: datetime, days: int) -> datetime:
    """So many days back, but not before the book begins."""
    c = tables.entry.c
    # The first of each kind has an index to be found by; the first of all would be looked for among all.
    firsts = union_all(*(select(func.min(c.happened_at).label("at")).where(c.kind == kind) for kind in ENTRY_KINDS))
    first_at = db.execute(select(func.min(firsts.subquery().c.at))).scalar() or now_at
    return max(now_at - timedelta(days=days), first_at)
