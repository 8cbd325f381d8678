"""Styles: care plan in day counts, ripening window, the air they like and what their wheels lose, by size."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, ClassVar

from fastapi import APIRouter, HTTPException
from sqlalchemy import Connection
from starlette.responses import Response

from collector.errors import EntryRefused
from collector.records.columns import new_id
from dashboard.errors_shown import Trouble
from dashboard.forms import Form
from dashboard.household import Household
from dashboard.navigation import Nav
from dashboard.rounds.entering import Sheet, sheet_of
from dashboard.rounds.plans import RINDS, changed, lines_shown, texts_of
from dashboard.rounds.posted import many, store
from dashboard.rounds.row_words import OwnWords
from dashboard.rounds.seeded import seeded_id
from dashboard.rounds.style_numbers import MOST_SIZES, sizes_shown
from dashboard.rounds.style_origin import GROUPS, Origin, back_to_ours, origins
from dashboard.rounds.style_words import air_words, loss_words, plan_words, ripe_words
from dashboard.rounds.typed import Asked
from dashboard.visit import Guest, Helper, Texts, Visit
from dashboard.wheels.bodies.sheets import StyleSheet
from dashboard.wheels.book import living, own_words, styles
from dashboard.wheels.entry_rows import standing_where
from dashboard.wheels.kinds.care import CARE_KINDS, PLANNED
from dashboard.wheels.tables import entry
from dashboard.wheels_shown.naming import FRESH, fresh_style, style_names

router = APIRouter()
PATH = "/care-plans"
NAV = Nav("Styles and care plans", PATH, "round", "more", 35)
NEW = "new"
NO_STYLE = Trouble(404, "There is no such style.", "Find it on the list of styles.")


@dataclass(frozen=True, slots=True)
class StyleLine:
    """One style of the list: its plan in words, and how many wheels live by it."""

    path: str
    name: str
    about: str


@dataclass(frozen=True, slots=True)
class CarePlansPage:
    template: ClassVar[str] = "care_plans.html"
    title: str
    lines: Sequence[StyleLine]
    may_change: bool


@dataclass(frozen=True, slots=True)
class CarePlanPage:
    template: ClassVar[str] = "care_plan.html"
    title: str
    path: str
    said: Sequence[str]
    form: Form
    seed: str
    rows: range
    sizes: range
    units: Mapping[str, str]
    origins: Mapping[str, Origin]
    cares: Mapping[str, str]
    rinds: Mapping[str, str]
    wheels: int
    may_change: bool


@router.get(PATH)
def every(visit: Guest) -> Response:
    with visit.looking() as db:
        own, counted = own_words(db), _wheels_by_style(db)
        known = {style.id: style.sheet for style in styles(db)}
        names = style_names(db)
    lines = []
    for style_id, name in names.items():
        sheet = known.get(style_id) or _fresh(style_id)
        count = many(counted.get(style_id, 0)) if style_id in known else "to begin with"
        lines.append(StyleLine(f"{PATH}/{style_id}", name, "; ".join([count, *plan_words(sheet.plan, own)])))
    return visit.page(CarePlansPage("Styles and care plans", lines, visit.person.may("helper")))


def _wheels_by_style(db: Connection) -> dict[str, int]:
    found: dict[str, int] = {}
    for wheel in living(db):
        found[wheel.style_id or ""] = found.get(wheel.style_id or "", 0) + 1
    return found


def _fresh(style_id: str) -> StyleSheet:
    return StyleSheet.model_validate(fresh_style(style_id) or {})


@router.get("/care-plans/{style_id}")
def one(visit: Guest, style_id: str) -> Response:
    sheet = _sheet(visit, style_id)
    return visit.page(_page(visit, style_id, sheet, Form(texts_of(sheet, visit.household))))


def _sheet(visit: Visit, style_id: str) -> StyleSheet:
    if style_id == NEW or (style_id.startswith(FRESH) and fresh_style(style_id)):
        return _fresh(style_id)
    with visit.looking() as db:
        known = {style.id: style.sheet for style in styles(db)}
    if style_id not in known:
        raise HTTPException(404, NO_STYLE)
    return known[style_id]


def _page(visit: Visit, style_id: str, sheet: StyleSheet, form: Form) -> CarePlanPage:
    home = visit.household
    with visit.looking() as db:
        own, count = own_words(db), _wheels_by_style(db).get(style_id, 0)
        entered = standing_where(db, entry.c.style_id == style_id, entry.c.kind == "style")
    said = (*plan_words(sheet.plan, own), ripe_words(sheet), _likes(sheet, home), _loses(sheet, home))
    return CarePlanPage(
        sheet.name or "A new style", f"{PATH}/{style_id}", [line for line in said if line], form,
        form.text("seed") or new_id(), range(lines_shown(sheet)), range(_sizes(sheet, form)),
        {"temperature": f"°{home.temperature_unit}", "weight": home.weight_unit}, origins(sheet, entered, home),
        {"": "nothing", **_cares(own)}, RINDS, count, visit.person.may("helper"),
    )  # fmt: skip


def _sizes(sheet: StyleSheet, form: Form) -> int:
    """As many rows as were typed, where a form comes back."""
    typed = [number for number in range(MOST_SIZES) if form.text(f"least-{number}") or form.text(f"size-{number}")]
    return max(sizes_shown(sheet), typed[-1] + 1 if typed else 0)


def _likes(sheet: StyleSheet, household: Household) -> str:
    said = air_words(sheet, household)
    return f"likes {said}" if said else ""


def _loses(sheet: StyleSheet, household: Household) -> str:
    said = loss_words(sheet.losses, household)
    return f"loses {said}" if said else ""


def _cares(own: OwnWords) -> dict[str, str]:
    """What a plan may ask for."""
    added = {name: word for (of, name), word in own.items() if of == "care"}
    return {**{kind.name: kind.word for kind in CARE_KINDS.values()}, **PLANNED, **added}


@router.post("/care-plans/{style_id}")
def keep(visit: Helper, style_id: str, texts: Texts) -> Response:
    """Another plan from now on: what is due is counted anew for every wheel of the style."""
    sheet = _sheet(visit, style_id)
    asked = Asked(texts, visit.household, visit.now_at)
    with visit.looking() as db:
        cares = _cares(own_words(db))
    try:
        own = sheet_of(asked, "style", style_id)
        fields = changed(asked, sheet, cares)
    except EntryRefused as refused:
        return visit.refused(_page(visit, style_id, sheet, Form(texts).wrong(refused.field, str(refused))))
    if not fields and not _is_fresh(style_id):
        return visit.go(PATH, "Nothing was changed.")
    return _kept(visit, style_id, sheet, own, fields)


@router.post("/care-plans/{style_id}/ours")
def ours(visit: Helper, style_id: str, texts: Texts) -> Response:
    """One part of a style as it was to begin with; its other parts stay the household's own."""
    sheet = _sheet(visit, style_id)
    if texts.get("part") not in GROUPS:
        raise HTTPException(404, NO_STYLE)
    fields = back_to_ours(sheet, texts["part"])
    if not fields:
        return visit.go(f"{PATH}/{style_id}", "Nothing was changed.")
    try:
        own = sheet_of(Asked(texts, visit.household, visit.now_at), "style", style_id, texts["part"])
    except EntryRefused as refused:
        raise HTTPException(422, Trouble(422, str(refused), "Open the style again.")) from refused
    return _kept(visit, style_id, sheet, own, fields)


def _is_fresh(style_id: str) -> bool:
    return style_id == NEW or style_id.startswith(FRESH)


def _kept(visit: Visit, style_id: str, sheet: StyleSheet, own: Sheet, fields: Mapping[str, Any]) -> Response:
    """Keep what changed of a style; one to begin with becomes the household's own."""
    fresh = _is_fresh(style_id)
    id_ = seeded_id(own.seed, "style") if fresh else style_id
    body: dict[str, Any] = {**(sheet.model_dump(mode="json", exclude_unset=True) if fresh else {}), **fields}
    store(visit, [own.entry({**body, "kind": "style"}, id_, style_id=id_)])
    return visit.go(f"{PATH}/{id_}", "Kept.", undo=f"/round/undo/{own.group_id}?back={PATH}")
