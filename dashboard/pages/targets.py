"""Places and the air that they should have: the list."""

from dataclasses import dataclass
from datetime import datetime
from typing import ClassVar

from fastapi import APIRouter
from starlette.responses import Response

from collector.records.facts import Facts, Place, holding
from collector.records.places import load_facts
from dashboard import links_to
from dashboard.navigation import Nav
from dashboard.places.target_words import target_words
from dashboard.places_now import ordered
from dashboard.visit import Guest, Visit

router = APIRouter()
PATH = "/targets"
NAV = Nav("Places and targets", PATH, "targets", "more", 30)

OUTSIDE = "Outside: nothing is asked of it"


@dataclass(frozen=True, slots=True)
class Listed:
    """A place in the list: what is asked of it, since when, and when that will change."""

    place: Place
    depth: int
    path: str
    settings_path: str
    asked: str
    since_at: datetime | None
    coming_at: datetime | None
    coming: str


@dataclass(frozen=True, slots=True)
class TargetsPage:
    template: ClassVar[str] = "targets.html"
    title: str
    places: tuple[Listed, ...]
    closed: tuple[Place, ...]
    may_change: bool


@router.get(PATH)
def targets(visit: Guest) -> Response:
    with visit.looking() as db:
        facts = load_facts(db)
    listed = tuple(_listed(visit, facts, place, depth) for place, depth in ordered(facts))
    closed = tuple(place for place in facts.places.values() if place.closed_at is not None)
    return visit.page(TargetsPage("Places and targets", listed, closed, visit.person.may("owner")))


def _listed(visit: Visit, facts: Facts, place: Place, depth: int) -> Listed:
    own = facts.targets.get(place.id, [])
    held = holding(own, visit.now_at)
    coming = next((target for target in own if target.valid_from_at > visit.now_at), None)
    return Listed(
        place, depth, links_to.targets(place.id), links_to.place(place.id),
        OUTSIDE if place.kind == "outside" and held is None else target_words(held, visit.household),
        held.valid_from_at if held else None,
        coming.valid_from_at if coming else None, target_words(coming, visit.household) if coming else "",
    )  # fmt: skip
