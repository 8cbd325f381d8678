"""Typing a reading: a dial on the wall and a phone's keypad are a probe too."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import ClassVar

from fastapi import APIRouter, HTTPException
from starlette.responses import Response

from collector.errors import EntryRefused
from collector.records.columns import new_id, to_ms
from collector.records.facts import Place
from dashboard import links_to, typed_readings, words
from dashboard.forms import Form
from dashboard.navigation import Nav
from dashboard.paths import own_path
from dashboard.places.adding import open_places
from dashboard.probes.doing_place import place_words
from dashboard.typed_readings import OUTSIDE, Keeper, Typed
from dashboard.visit import Helper, Texts, Visit

router = APIRouter()
PATH = "/readings/type"
NAV = Nav("Type a reading", PATH, "thermometer", "more", 15, role="helper")


@dataclass(frozen=True, slots=True)
class TypePage:
    template: ClassVar[str] = "type_reading.html"
    title: str
    form: Form
    places: Mapping[str, str]
    instruments: tuple[str, ...]
    newest: tuple[Typed, ...]
    corrects: Typed | None
    unit: str
    asks_below_zero: bool
    back: str


@router.get(PATH)
def form(visit: Helper, place: str = "", again: str = "", back: str = "") -> Response:
    """The form, for a place if one is named; `again` corrects what was typed before."""
    with visit.looking() as db:
        corrects = typed_readings.one(db, again) if again else None
    if again and corrects is None:
        raise HTTPException(404)
    return visit.page(_page(visit, _fresh(visit, place, corrects), corrects, back))


def _fresh(visit: Visit, place: str, corrects: Typed | None) -> Form:
    own_id = new_id(to_ms(visit.now_at))
    if corrects is None:
        return Form({"place": place, "id": own_id})
    warm = words.temperature_number(corrects.temperature_c, visit.household)
    damp = "" if corrects.humidity_pct is None else f"{corrects.humidity_pct:g}"
    return Form({"place": corrects.place_id, "id": own_id, "temperature": warm, "humidity": damp})


def _page(visit: Visit, form: Form, corrects: Typed | None, back: str) -> TypePage:
    with visit.looking() as db:
        known = open_places(db)
        chosen = form.text("place") or (known[0][0].id if known else "")
        instruments = typed_readings.instruments(db, chosen)
        newest = typed_readings.newest(db, chosen)
    texts = {"instrument": instruments[0] if instruments else "", **form.texts, "place": chosen}
    kinds = {place.id: place.kind for place, _ in known}
    return TypePage(
        title="Type a reading" if corrects is None else "Type it again",
        form=Form(texts, form.errors),
        places=place_words(known),
        instruments=tuple(instruments),
        newest=tuple(newest),
        corrects=corrects,
        unit=f"°{visit.household.temperature_unit}",
        asks_below_zero=kinds.get(chosen) == OUTSIDE,
        back=own_path(back, ""),
    )


@router.post(PATH)
def keep(visit: Helper, texts: Texts) -> Response:
    """Keep what was typed. What cannot be is refused, and the text stays."""
    with visit.looking() as db:
        corrects = typed_readings.one(db, texts["again"]) if texts.get("again") else None
        known = {place.id: place for place, _ in open_places(db)}
    try:
        typed, place = _read(visit, texts, corrects, known)
    except EntryRefused as refused:
        form = Form(texts).wrong(refused.field, str(refused))
        return visit.refused(_page(visit, form, corrects, texts.get("back", "")))
    with visit.changing() as db:
        by = Keeper(visit.person.id, visit.person.name, visit.now_at, now_meant=not texts.get("at", "").strip())
        is_new = typed_readings.keep(db, typed, place, by)
    said = f"{'Kept' if is_new else 'Kept before'}: {_said(typed, visit)} in {place.name}."
    return visit.go(own_path(texts.get("back", ""), links_to.cave(place.id)), said)


def _read(
    visit: Visit, texts: Mapping[str, str], corrects: Typed | None, known: Mapping[str, Place]
) -> tuple[Typed, Place]:
    if corrects is not None:
        typed = typed_readings.correction(corrects, texts, visit.household, visit.now_at)
    else:
        typed = typed_readings.read(texts, visit.household, visit.now_at)
    if typed.place_id not in known:
        raise EntryRefused("place", "Take one of the places.")
    return typed, known[typed.place_id]


def _said(typed: Typed, visit: Visit) -> str:
    warm = words.temperature(typed.temperature_c, visit.household) if typed.temperature_c is not None else ""
    damp = words.humidity(typed.humidity_pct, visit.household) if typed.humidity_pct is not None else ""
    return " and ".join(said for said in (warm, damp) if said)
