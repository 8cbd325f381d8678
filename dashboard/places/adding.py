"""Adding, renaming, nesting, ordering and closing places."""

from collections.abc import Mapping
from datetime import datetime

from sqlalchemy import Connection

from collector.errors import EntryRefused
from collector.records.columns import new_id
from collector.records.facts import Facts, Place
from collector.records.places import add_place, change_place, places
from dashboard.places_now import ordered

LONGEST_NAME = 80
KINDS: Mapping[str, str] = {
    "cave": "A cave: a cellar, a fridge, a room",
    "shelf": "A shelf or corner with air of its own",
    "box": "A box inside another place",
    "counter": "A counter or table, for drying",
    "outside": "Outside, to know whether airing helps",
}


def open_places(db: Connection) -> list[tuple[Place, int]]:
    """Places that are not closed with how deep they stand inside others, in the household's order."""
    return ordered(Facts(places={place.id: place for place in places(db)}))


def name_typed(text: str, others: list[Place], field: str = "name") -> str:
    """A place's name.

    Raises:
        EntryRefused: blank, too long, or taken by another place that is open.
    """
    name = " ".join(text.split())
    if not name:
        raise EntryRefused(field, "Give the place a name, like Lower fridge.")
    if len(name) > LONGEST_NAME:
        raise EntryRefused(field, f"A name may have at most {LONGEST_NAME} characters; this has {len(name)}.")
    if any(place.name.casefold() == name.casefold() for place in others):
        raise EntryRefused(field, f"There is a place called {name} already.")
    return name


def kind_typed(text: str, field: str = "kind") -> str:
    if text not in KINDS:
        raise EntryRefused(field, "Say what kind of place it is.")
    return text


def parent_typed(text: str, place_id: str | None, known: list[Place], field: str = "parent") -> str | None:
    """The place around a place, None for none.

    Raises:
        EntryRefused: a place that is not there, or one that lies inside the place itself.
    """
    if not text:
        return None
    by_id = {place.id: place for place in known}
    step: str | None = text
    if step not in by_id:
        raise EntryRefused(field, "Take one of the places, or none.")
    for _ in by_id:
        if step == place_id:
            raise EntryRefused(field, f"{by_id[text].name} lies inside this place; it cannot stand around it.")
        step = by_id[step].parent_id if step in by_id else None
    return text


def add(db: Connection, name: str, kind: str, parent_id: str | None = None) -> Place:
    """A new place, at the end of the order.

    Raises:
        EntryRefused: a name or kind that cannot be.
    """
    known = places(db)
    is_open = [place for place in known if place.closed_at is None]
    position = max((place.position for place in known), default=-1) + 1
    own = Place(
        new_id(),
        name_typed(name, is_open),
        kind_typed(kind),
        parent_typed(parent_id or "", None, is_open),
        position,
    )
    add_place(db, own)
    return own


def close(db: Connection, place_id: str, now_at: datetime) -> None:
    change_place(db, place_id, closed_at=now_at)


def reopen(db: Connection, place_id: str) -> None:
    change_place(db, place_id, closed_at=None)


def shift(db: Connection, place_id: str, by: int) -> bool:
    """Move a place one up (-1) or down (1) among those with the same place around them; False at the end."""
    known = {place.id: place for place, _ in open_places(db)}
    if place_id not in known:
        return False
    own = known[place_id]
    beside = [place for place in known.values() if _around(place, known) == _around(own, known)]
    at = beside.index(own)
    if not 0 <= at + by < len(beside):
        return False
    beside[at], beside[at + by] = beside[at + by], beside[at]
    inner = [place for place in known.values() if place not in beside]
    for position, place in enumerate([*beside, *inner]):
        if place.position != position:
            change_place(db, place.id, position=position)
    return True


def _around(place: Place, known: Mapping[str, Place]) -> str | None:
    """The open place around a place: one inside a closed place stands by itself."""
    return place.parent_id if place.parent_id in known else None
