"""Places, and the air in them now."""

from datetime import datetime
from typing import cast

from fastapi import APIRouter

from collector.records.columns import from_ms
from collector.records.facts import Facts, Place
from collector.records.places import load_facts
from dashboard.air_now import Now
from dashboard.api.access import ApiReader
from dashboard.api.reading import place_of, readings_of
from dashboard.api.shapes import ERRORS, AirNowOut, OriginName, PlaceOut, TargetOut, ValueOut
from dashboard.place_cards import dew_point
from dashboard.places_now import look, place_now

router = APIRouter(tags=["places"], responses=ERRORS)


@router.get("/places")
def places(visit: ApiReader) -> list[PlaceOut]:
    """Every place in the household's order, closed ones too."""
    with visit.looking() as db:
        facts = load_facts(db)
    known = sorted(facts.places.values(), key=lambda place: (place.position, place.name))
    return [_place(facts, place, visit.now_at) for place in known]


@router.get("/places/{place_id}")
def place(visit: ApiReader, place_id: str) -> PlaceOut:
    """One place."""
    with visit.looking() as db:
        facts = load_facts(db)
    return _place(facts, place_of(facts, place_id), visit.now_at)


@router.get("/places/{place_id}/air/now")
def air_now(visit: ApiReader, place_id: str) -> AirNowOut:
    """The air of a place at this moment, from the newest readings, and its state in words."""
    readings = readings_of(visit)
    with visit.looking() as db:
        looked = look(db, readings, visit.now_at, visit.household, visit.house.last_days)
        seen = place_now(looked, place_of(looked.facts, place_id))
    return AirNowOut(
        place_id=place_id,
        at=visit.now_at,
        state=seen.view.state,
        headline=seen.view.headline,
        suffers=seen.view.suffers,
        temperature_c=_value(seen.now.temperature_c),
        humidity_pct=_value(seen.now.humidity_pct),
        surface_c=None if seen.now.surface_c is None else _value(seen.now.surface_c),
        dew_point_c=dew_point(seen),
    )


def _place(facts: Facts, place: Place, now_at: datetime) -> PlaceOut:
    names = ("id", "name", "kind", "parent_id", "position", "closed_at")
    return PlaceOut(**{name: getattr(place, name) for name in names}, target=_target(facts, place, now_at))


def _target(facts: Facts, place: Place, now_at: datetime) -> TargetOut | None:
    found = facts.target_at(place.id, now_at)
    if found is None:
        return None
    return TargetOut(**{name: getattr(found, name) for name in TargetOut.model_fields})


def _value(now: Now) -> ValueOut | None:
    if now.value is None:
        return None
    newest = max((reading.taken_ms for reading in now.readings), default=None)
    return ValueOut(
        value=round(now.value, 3),
        uncertainty=None if now.uncertainty != now.uncertainty else now.uncertainty,
        origin=cast(OriginName, now.origin.name.lower()),
        probes=sorted({reading.channel.probe for reading in now.readings}),
        taken_at=None if newest is None else from_ms(newest),
    )
