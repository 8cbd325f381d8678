"""One place's targets: what holds, what was asked before, and what another would have raised."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import ClassVar

from fastapi import APIRouter, HTTPException
from sqlalchemy import Connection
from starlette.responses import Response

from collector.air.read import AirReader
from collector.errors import EntryRefused
from collector.records.facts import Facts, Place, Target, holding
from collector.records.places import add_fact, load_facts
from collector.rules.presets import PRACTICE, PRESETS, why
from dashboard import links_to
from dashboard.forms import Form
from dashboard.places import target_form
from dashboard.places.speaking import is_checked
from dashboard.places.style_air import beginnings, style_of, style_texts, style_why
from dashboard.places.target_words import grace_words, preset_word, target_words
from dashboard.places.trial import RUN_IN, TRIED, Line, reader_for, tried
from dashboard.visit import Guest, Owner, Texts, Visit

router = APIRouter()
SINCE = {"now": "From now on", "at": "From another time:"}


@dataclass(frozen=True, slots=True)
class Held:
    """A target as it stands in the history; `until_at` None: it still holds, or nobody knows when it ends."""

    asked: str
    more: str
    from_at: datetime
    until_at: datetime | None
    by: str


@dataclass(frozen=True, slots=True)
class TargetPage:
    template: ClassVar[str] = "target.html"
    title: str
    place: Place
    path: str
    now: Held | None
    is_resting: bool
    form: Form
    since: Mapping[str, str]
    presets: Mapping[str, str]
    why: str
    sources: tuple[str, ...]
    narrow: bool
    history: tuple[Held, ...]
    trial: tuple[Line, ...] | None
    tried_d: int
    unit: str
    may_change: bool


@router.get("/targets/{place_id}")
def target(visit: Guest, place_id: str) -> Response:
    """A place's target and its form, filled in with what the address suggests."""
    asked = dict(visit.request.query_params)
    with visit.looking() as db:
        reader = _reader(visit, db)
        facts = reader.facts if reader else load_facts(db)
        place = _place(facts, place_id)
        style = style_of(db, asked.get("preset", ""))
    checked = reader is not None and is_checked(reader, place_id, visit.now_at)
    texts = _texts(visit, facts, place, asked, checked)
    if style is not None:
        texts |= style_texts(style, asked["preset"], visit.household, checked=checked)
    form = Form(texts)
    return visit.page(_page(visit, facts, place, form, checked))


def _texts(visit: Visit, facts: Facts, place: Place, asked: Mapping[str, str], checked: bool) -> dict[str, str]:
    """The target that holds, or the last one before a rest, with what was suggested laid over it."""
    own = facts.targets.get(place.id, [])
    base = next((one for one in reversed(own) if not one.resting and one.valid_from_at <= visit.now_at), None)
    household = visit.household
    texts = target_form.texts_of(base, household)
    texts |= target_form.texts_of_preset(asked.get("preset", ""), household, checked=checked)
    texts |= target_form.texts_of_offer(asked, household)
    return {**texts, "since": "now"}


@router.get("/targets/{place_id}/try")
def try_out(visit: Owner, place_id: str) -> Response:
    """What the form's target would have raised lately; nothing is kept."""
    texts = dict(visit.request.query_params)
    with visit.looking() as db:
        reader = _reader(visit, db)
        facts = reader.facts if reader else load_facts(db)
        place = _place(facts, place_id)
    checked = reader is not None and is_checked(reader, place_id, visit.now_at)
    try:
        wanted = target_form.read({**texts, "since": "now"}, place_id, visit.household, visit.now_at, "")
    except EntryRefused as refused:
        return visit.refused(_page(visit, facts, place, Form(texts).wrong(refused.field, str(refused)), checked))
    lines = tried(reader, place_id, wanted, visit.now_at) if reader else ()
    return visit.page(_page(visit, facts, place, Form(texts), checked, lines, wanted))


@router.post("/targets/{place_id}")
def change(visit: Owner, place_id: str, texts: Texts) -> Response:
    with visit.looking() as db:
        reader = _reader(visit, db)
        facts = reader.facts if reader else load_facts(db)
        place = _place(facts, place_id)
    try:
        wanted = target_form.read(texts, place_id, visit.household, visit.now_at, visit.person.name)
    except EntryRefused as refused:
        form = Form(texts).wrong(refused.field, str(refused))
        return visit.refused(_page(visit, facts, place, form, checked=False))
    with visit.changing() as db:
        add_fact(db, wanted)
    return visit.go(links_to.targets(place_id), f"{place.name}: {target_words(wanted, visit.household)}.")


def _reader(visit: Visit, db: Connection) -> AirReader | None:
    if visit.readings is None:
        return None
    return reader_for(db, visit.readings, visit.now_at - RUN_IN - TRIED, visit.now_at)


def _place(facts: Facts, place_id: str) -> Place:
    if place_id not in facts.places:
        raise HTTPException(404)
    return facts.places[place_id]


def _page(
    visit: Visit,
    facts: Facts,
    place: Place,
    form: Form,
    checked: bool,
    trial: tuple[Line, ...] | None = None,
    wanted: Target | None = None,
) -> TargetPage:
    own = facts.targets.get(place.id, [])
    held = holding(own, visit.now_at)
    preset = PRESETS.get(form.text("preset"))
    sources = {preset.temperature_source, preset.humidity_source} if preset else set()
    with visit.looking() as db:
        presets, style = beginnings(db), style_of(db, form.text("preset"))
    return TargetPage(
        title=place.name,
        place=place,
        path=links_to.targets(place.id),
        now=_held(held, None, visit) if held else None,
        is_resting=held is not None and held.resting,
        form=form,
        since=SINCE,
        presets=presets,
        why=why(preset, checked=checked) if preset else style_why(style, checked=checked) if style else "",
        sources=tuple(sorted(sources, key=lambda source: source != PRACTICE)),
        narrow=wanted is not None and target_form.is_narrow(wanted, checked=checked),
        history=tuple(reversed([_held(one, _until(own, one), visit) for one in own])),
        trial=trial,
        tried_d=TRIED.days,
        unit=f"°{visit.household.temperature_unit}",
        may_change=visit.person.may("owner"),
    )


def _held(one: Target, until_at: datetime | None, visit: Visit) -> Held:
    more = [] if one.resting else [grace_words(one), preset_word(one)]
    said = ", ".join(word for word in more if word)
    return Held(target_words(one, visit.household), said, one.valid_from_at, until_at, one.by)


def _until(own: list[Target], one: Target) -> datetime | None:
    """Where the next one takes over."""
    later = [other.valid_from_at for other in own[own.index(one) + 1 :]]
    return later[0] if later else None
