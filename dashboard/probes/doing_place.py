"""Placing a probe or one of its fields, moving it, taking it away."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import ClassVar

from sqlalchemy import Connection

from collector.records.facts import Place, Placement
from collector.records.places import load_facts
from dashboard import links_to
from dashboard.forms import Form
from dashboard.places.adding import KINDS, open_places
from dashboard.places.style_air import beginnings
from dashboard.probes.choices import choice, choose
from dashboard.probes.doing import Asked, Doing, DoingPage
from dashboard.probes.placing import NEW, SINCE, SITES, place_chosen, put, since_typed, site_typed, take_away
from dashboard.visit import Visit


@dataclass(frozen=True, slots=True)
class PlacePage(DoingPage):
    template: ClassVar[str] = "probe_place.html"
    places: Mapping[str, str]
    kinds: Mapping[str, str]
    presets: Mapping[str, str]
    sites: Mapping[str, str]
    since: Mapping[str, str]
    field: str


def show_place(visit: Visit, probe: str, field: str, form: Form | None) -> PlacePage:
    """The whole form: which place, what there, from when on."""
    with visit.looking() as db:
        known = open_places(db)
        called = choice(db, probe).name or probe
        placed, presets = _placed(db, probe, field, visit.now_at), beginnings(db)
    default = {
        "place": (placed.place_id if placed else None) or (known[0][0].id if known else NEW),
        "site": placed.site if placed and placed.site in SITES else "air",
        "kind": "cave",
        "since": "now" if placed else "first",
    }
    title = f"Where {field} measures" if field else "Where it measures"
    return PlacePage(
        title, links_to.probe(probe), called, f"{links_to.probe(probe)}/place", form or Form(default),
        {**place_words(known), NEW: "A new place:"}, KINDS, presets, SITES, SINCE, field,
    )  # fmt: skip


def place_words(known: list[tuple[Place, int]]) -> dict[str, str]:
    """Places to choose from, each with the one around it."""
    names = {place.id: place.name for place, _ in known}
    return {
        place.id: f"{place.name}, in {names[place.parent_id]}" if place.parent_id in names else place.name
        for place, _ in known
    }


def _placed(db: Connection, probe: str, field: str, at: datetime) -> Placement | None:
    return load_facts(db).placement_at(probe, field, at)


def save_place(db: Connection, asked: Asked) -> str:
    since_at = since_typed(asked.texts, asked.household, asked.by.now_at, asked.first_at)
    place = place_chosen(db, asked.texts, since_at, asked.by)
    put(db, asked.probe, place, site_typed(asked.texts, place), since_at, asked.by, asked.field or None)
    return f"{asked.field or 'It'} measures in {place.name}."


def save_take_away(db: Connection, asked: Asked) -> str:
    take_away(db, asked.probe, asked.by.now_at, asked.by)
    return "It measures no place any more. What it said before stays where it was."


def save_put_away(db: Connection, asked: Asked) -> str:
    choose(db, asked.probe, dismissed_at=asked.by.now_at)
    return "Put away: nobody waits for it. Its readings stay."


def save_bring_back(db: Connection, asked: Asked) -> str:
    choose(db, asked.probe, dismissed_at=None)
    return "Back among the probes."


DOINGS = (
    Doing("place", save_place, show_place),
    Doing("take-away", save_take_away),
    Doing("put-away", save_put_away),
    Doing("bring-back", save_bring_back),
)
