"""A place's own settings: its name, what it is, what stands around it, an assumed air, who speaks for it, its end."""

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import ClassVar

from fastapi import APIRouter, HTTPException
from sqlalchemy import Connection
from starlette.responses import Response

from collector.air.read import AirReader
from collector.errors import EntryRefused
from collector.records.columns import new_id
from collector.records.facts import Lead, Place
from collector.records.places import add_fact, change_place, load_facts, places
from dashboard import links_to, words
from dashboard.forms import Form
from dashboard.places import adding
from dashboard.places.adding import KINDS
from dashboard.places.speaking import air_probes, lead
from dashboard.places.style_air import beginnings, begun_from
from dashboard.probes.choices import choices
from dashboard.probes.doing_place import place_words
from dashboard.typed_air import humidity_pct, temperature_c
from dashboard.visit import Guest, Owner, Texts, Visit

router = APIRouter()
PATH = "/targets"
NOBODY = {"": "None: it stands by itself"}
ALL = {"": "The middle of all its probes"}


@dataclass(frozen=True, slots=True)
class NewPlacePage:
    template: ClassVar[str] = "place_new.html"
    title: str
    form: Form
    kinds: Mapping[str, str]
    parents: Mapping[str, str]
    presets: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class ProbeThere:
    """A probe that measures the air of the place."""

    called: str
    path: str


@dataclass(frozen=True, slots=True)
class PlacePage:
    template: ClassVar[str] = "place.html"
    title: str
    place: Place
    form: Form
    kinds: Mapping[str, str]
    parents: Mapping[str, str]
    probes: tuple[ProbeThere, ...]
    leads: Mapping[str, str]
    lead_form: Form
    unit: str
    may_change: bool
    cave_path: str
    target_path: str
    type_path: str


@router.get("/places/new")
def new(visit: Owner) -> Response:
    return visit.page(_new_page(visit, Form({"kind": "cave"})))


def _new_page(visit: Visit, form: Form) -> NewPlacePage:
    with visit.looking() as db:
        parents, presets = place_words(adding.open_places(db)), beginnings(db)
    return NewPlacePage("A new place", form, KINDS, {**NOBODY, **parents}, presets)


@router.post("/places/new")
def add(visit: Owner, texts: Texts) -> Response:
    try:
        with visit.changing() as db:
            own = adding.add(db, texts.get("name", ""), texts.get("kind", ""), texts.get("parent", ""))
            chosen, now_at = texts.get("preset", ""), visit.now_at
            target = begun_from(db, chosen, own.id, now_at, now_at, visit.person.name)
            if target is not None:
                add_fact(db, target)
    except EntryRefused as refused:
        return visit.refused(_new_page(visit, Form(texts).wrong(refused.field, str(refused))))
    return visit.go(links_to.place(own.id), f"{own.name} is a place now.")


@router.get("/places/{place_id}")
def place(visit: Guest, place_id: str) -> Response:
    own = _found(visit, place_id)
    return visit.page(_page(visit, own, Form(_texts(own, visit))))


def _texts(own: Place, visit: Visit) -> dict[str, str]:
    warm = words.temperature_number(own.assumed_temperature_c, visit.household)
    damp = "" if own.assumed_humidity_pct is None else f"{own.assumed_humidity_pct:g}"
    return {
        "name": own.name, "kind": own.kind, "parent": own.parent_id or "", "assumed_temperature": warm,
        "assumed_humidity": damp,
    }  # fmt: skip


def _found(visit: Visit, place_id: str) -> Place:
    with visit.looking() as db:
        own = next((one for one in places(db) if one.id == place_id), None)
    if own is None:
        raise HTTPException(404)
    return own


def _page(visit: Visit, own: Place, form: Form) -> PlacePage:
    with visit.looking() as db:
        known = [(one, depth) for one, depth in adding.open_places(db) if one.id != own.id]
        there, speaks = _probes(visit, db, own.id)
    leads = {**ALL, **{name: probe.called for name, probe in there.items()}}
    return PlacePage(
        own.name, own, form, KINDS, {**NOBODY, **place_words(known)}, tuple(there.values()), leads,
        Form({"lead": speaks}), f"°{visit.household.temperature_unit}", visit.person.may("owner"),
        links_to.cave(own.id), links_to.targets(own.id), links_to.type_reading(own.id),
    )  # fmt: skip


def _probes(visit: Visit, db: Connection, place_id: str) -> tuple[dict[str, ProbeThere], str]:
    """The probes that measure the place's air, and the one that speaks for it."""
    if visit.readings is None:
        return {}, ""
    reader = AirReader(visit.readings.db, load_facts(db))
    named = {name: choice.name for name, choice in choices(db).items() if choice.name}
    own = air_probes(reader, place_id, visit.now_at)
    there = {name: ProbeThere(named.get(name, name), links_to.probe(name)) for name in own}
    return there, lead(reader, place_id, visit.now_at)


@router.post("/places/{place_id}")
def change(visit: Owner, place_id: str, texts: Texts) -> Response:
    own = _found(visit, place_id)
    try:
        with visit.changing() as db:
            wanted = _read(db, own, texts, visit)
            before = asdict(own)
            changes = {name: value for name, value in wanted.items() if before[name] != value}
            if changes:
                change_place(db, place_id, **changes)
    except EntryRefused as refused:
        return visit.refused(_page(visit, own, Form(texts).wrong(refused.field, str(refused))))
    return visit.go(links_to.place(place_id), "Saved.")


def _read(db: Connection, own: Place, texts: Mapping[str, str], visit: Visit) -> dict[str, object]:
    """The columns of a place as typed."""
    known = [one for one in places(db) if one.closed_at is None or one.id == own.id]
    return {
        "name": adding.name_typed(texts.get("name", ""), [one for one in known if one.id != own.id]),
        "kind": adding.kind_typed(texts.get("kind", "")),
        "parent_id": adding.parent_typed(texts.get("parent", ""), own.id, known),
        "assumed_temperature_c": _assumed_temperature_c(own, texts, visit),
        "assumed_humidity_pct": _assumed_humidity_pct(texts),
    }


def _assumed_temperature_c(own: Place, texts: Mapping[str, str], visit: Visit) -> float | None:
    """As typed; what was shown and left alone keeps its value, of which only a tenth is shown."""
    field = "assumed_temperature"
    text = texts.get(field, "").strip()
    if text == _texts(own, visit)[field]:
        return own.assumed_temperature_c
    return temperature_c(text, visit.household, field, "the assumed temperature") if text else None


def _assumed_humidity_pct(texts: Mapping[str, str]) -> float | None:
    text = texts.get("assumed_humidity", "").strip()
    return humidity_pct(text, "assumed_humidity", "the assumed humidity") if text else None


@router.post("/places/{place_id}/lead")
def choose_lead(visit: Owner, place_id: str, texts: Texts) -> Response:
    """Say which probe speaks for the place from now on."""
    own, chosen = _found(visit, place_id), texts.get("lead", "")
    with visit.changing() as db:
        there, speaks = _probes(visit, db, place_id)
        if chosen and chosen not in there:
            raise HTTPException(422)
        if chosen != speaks:
            fact = Lead(new_id(), visit.now_at, visit.now_at, own.id, chosen or None, by=visit.person.name)
            add_fact(db, fact)
    said = f"{there[chosen].called} speaks for {own.name}." if chosen else "The middle of all its probes speaks."
    return visit.go(links_to.place(place_id), said)


@router.post("/places/{place_id}/close")
def close(visit: Owner, place_id: str) -> Response:
    own = _found(visit, place_id)
    with visit.changing() as db:
        adding.close(db, place_id, visit.now_at)
    return visit.go(PATH, f"{own.name} is closed. What was measured there stays.", undo=f"/places/{place_id}/reopen")


@router.post("/places/{place_id}/reopen")
def reopen(visit: Owner, place_id: str) -> Response:
    own = _found(visit, place_id)
    with visit.changing() as db:
        adding.reopen(db, place_id)
    return visit.go(PATH, f"{own.name} is in use again.")


@router.post("/places/{place_id}/up")
def up(visit: Owner, place_id: str) -> Response:
    return _shifted(visit, place_id, -1)


@router.post("/places/{place_id}/down")
def down(visit: Owner, place_id: str) -> Response:
    return _shifted(visit, place_id, 1)


def _shifted(visit: Visit, place_id: str, by: int) -> Response:
    with visit.changing() as db:
        adding.shift(db, place_id, by)
    return visit.go(f"{PATH}#p-{place_id}")
