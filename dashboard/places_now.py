"""Everything known of the places at this moment, gathered once for a page."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

import numpy as np
from sqlalchemy import Connection, func, select

from collector.air.channel import pieces
from collector.air.read import AirReader
from collector.notify.known import Known, load_known
from collector.readings.model import Channel
from collector.readings.reader import Readings
from collector.records import warnings as records
from collector.records.columns import from_ms, to_ms
from collector.records.facts import Facts, Place, Target
from collector.records.places import load_facts
from collector.records.tables import fact_change
from collector.situations import outside_place
from collector.watch import doubtful_spans
from dashboard.air_now import AHEAD_MS, DEEPEST, AirNow, air_now
from dashboard.household import Household
from dashboard.last_day import DAY_MS, LastDay, LastDays
from dashboard.place_view import PlaceView, Silence, Situation, view
from dashboard.residents import residents
from dashboard.warnings.told import Told, told
from dashboard.whom import Group


@dataclass(frozen=True, slots=True)
class PlaceNow:
    """A place at this moment.

    Args:
        depth: how many open places it lies within.
        day: the air of the last day. now: the newest readings.
    """

    place: Place
    depth: int
    day: LastDay
    now: AirNow
    target: Target | None
    view: PlaceView
    warnings: tuple[Told, ...]
    probe_warnings: tuple[Told, ...]
    groups: tuple[Group, ...]


@dataclass(frozen=True, slots=True)
class Looked:
    """What was read once for all places; `channels` are those that measured in each place lately."""

    reader: AirReader
    channels: Mapping[str, list[Channel]]
    known: Known
    warnings: tuple[records.CaveWarning, ...]
    groups: Mapping[str, list[Group]]
    now_at: datetime
    household: Household
    last_days: LastDays
    facts_revision: int

    @property
    def facts(self) -> Facts:
        return self.reader.facts


def look(
    db: Connection, readings: Readings, now_at: datetime, household: Household, last_days: LastDays | None = None
) -> Looked:
    """Read facts, open warnings, doubts and who stands where.

    Args:
        last_days: what is kept of the places from one page to the next; None keeps nothing.
    """
    channels, facts = readings.channels(), load_facts(db)
    start, now_ms = to_ms(now_at) - DAY_MS, to_ms(now_at)
    doubts = doubtful_spans(db, channels, start, now_ms + AHEAD_MS)
    return Looked(
        AirReader(readings.db, facts, doubts, channels),
        _by_place(channels, facts, start, now_ms + 1),
        load_known(db, now_at, facts),
        tuple(records.warnings(db, only_open=True)),
        residents(db),
        now_at,
        household,
        last_days or LastDays(),
        int(db.execute(select(func.max(fact_change.c.seq))).scalar() or 0),
    )


def ordered(facts: Facts) -> list[tuple[Place, int]]:
    """The open places in the household's order with their depth: nested ones under their cave, outside last."""
    open_places = facts.open_places()
    ids = {place.id for place in open_places}
    children: dict[str | None, list[Place]] = {}
    for place in open_places:
        children.setdefault(place.parent_id if place.parent_id in ids else None, []).append(place)
    roots = sorted(children.get(None, []), key=lambda place: place.kind == "outside")
    return [pair for root in roots for pair in _with_inner(root, 0, children)]


def _with_inner(place: Place, depth: int, children: Mapping[str | None, list[Place]]) -> Iterator[tuple[Place, int]]:
    yield place, depth
    for inner in children.get(place.id, []):
        yield from _with_inner(inner, depth + 1, children)


def outside_now(looked: Looked) -> AirNow | None:
    """The air outside now; None without a place that stands for it."""
    place_id = outside_place(looked.facts)
    if place_id is None:
        return None
    return air_now(_for(looked, looked.facts.places[place_id]), place_id, to_ms(looked.now_at))


def place_now(looked: Looked, place: Place, depth: int = 0) -> PlaceNow:
    """One place at this moment."""
    now_ms = to_ms(looked.now_at)
    reader = _for(looked, place)
    day = looked.last_days.of(reader, place.id, now_ms, looked.facts_revision)
    now = air_now(reader, place.id, now_ms)
    probes = {reading.channel.probe for reading in now.heard}
    of_air = [w for w in looked.warnings if w.place_id == place.id]
    of_probes = [w for w in looked.warnings if w.probe in probes]
    target = looked.facts.target_at(place.id, looked.now_at)
    in_words = tuple(told(one, looked.known, looked.now_at) for one in of_air)
    groups = tuple(looked.groups.get(place.id, ()))
    situation = Situation(
        now_at=looked.now_at,
        temperature_c=day.hour_c,
        humidity_pct=day.hour_pct,
        humidity_u_pct=0.0 if np.isnan(now.humidity_pct.uncertainty) else now.humidity_pct.uncertainty,
        measured=now.temperature_c.is_measured or now.humidity_pct.is_measured,
        silence=silence(now),
        target=target,
        air=in_words,
        is_outside=place.kind == "outside",
        groups=groups,
    )
    return PlaceNow(
        place, depth, day, now, target, view(situation, looked.household), in_words,
        tuple(told(one, looked.known, looked.now_at) for one in of_probes), groups,
    )  # fmt: skip


def _by_place(channels: Sequence[Channel], facts: Facts, from_ms_: int, to_ms_: int) -> dict[str, list[Channel]]:
    """Which channels measured in each place within a span."""
    found: dict[str, list[Channel]] = {}
    for channel in channels:
        placements = [piece.placement for piece in pieces(channel, facts, from_ms_, to_ms_)]
        for place_id in {p.place_id for p in placements if p is not None and p.place_id is not None}:
            found.setdefault(place_id, []).append(channel)
    return found


def _for(looked: Looked, place: Place) -> AirReader:
    """A reader that knows only the channels of a place and of those around it: looking through all takes longer."""
    kept: list[Channel] = []
    at: Place | None = place
    for _ in range(DEEPEST + 1):
        if at is None:
            break
        kept += looked.channels.get(at.id, [])
        at = looked.facts.places.get(at.parent_id or "")
    return replace(looked.reader, known_channels=list(dict.fromkeys(kept)))


def silence(now: AirNow) -> Silence | None:
    """What is missing when nothing is measured in a place now; None for one that lives on another's air."""
    if now.temperature_c.is_measured or now.humidity_pct.is_measured:
        return None
    heard = [reading for reading in now.heard if reading.role != "surface"]
    if not heard:
        known = now.temperature_c.value is not None or now.humidity_pct.value is not None
        return None if known else Silence("nothing")
    newest = max(heard, key=lambda reading: reading.taken_ms)
    since_at = from_ms(newest.taken_ms)
    if newest.doubtful and newest.fresh:
        return Silence("doubted")
    if newest.is_typed:
        return Silence("typed", since_at)
    return Silence("probe" if len({reading.channel.probe for reading in heard}) == 1 else "probes", since_at)
