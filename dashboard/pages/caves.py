"""The first page: a card for each place, all right or not and for whom."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any, ClassVar

from fastapi import APIRouter
from sqlalchemy import Connection, func, select
from starlette.responses import Response

from collector.air.channel import TYPED_PREFIX
from collector.errors import SchemaMissing
from collector.readings.reader import Readings
from collector.records.facts import Facts
from collector.records.life import Sign, signs
from collector.records.places import places
from collector.records.tables import fact_change, probe_setting, warning
from dashboard.navigation import Nav
from dashboard.place_cards import Card, card
from dashboard.places_now import look, ordered, outside_now, place_now
from dashboard.visit import Guest, Visit

router = APIRouter()
PATH, PART = "/caves", "/caves/cards"
NAV = Nav("Caves", PATH, "caves", "bar", 10)
SILENT_AFTER = timedelta(seconds=60)
IMPORT_SEEN = timedelta(minutes=2)  # our choice: an import that runs tells of itself every few seconds


@dataclass(frozen=True, slots=True)
class Import:
    """Old readings that are being taken in: how much of this file [%], and how many more wait."""

    share_pct: int
    files_left: int


@dataclass(frozen=True, slots=True)
class CavesPart:
    """The page's inside, which is asked for again.

    Args:
        silent_since_at: since when the collector says nothing, None while it works. never_ran: it has not begun yet.
        waiting_probes: how many probes wait for a place.
    """

    template: ClassVar[str] = "caves_part.html"
    cards: tuple[Card, ...]
    silent_since_at: datetime | None
    never_ran: bool
    taken_in: Import | None
    waiting_probes: int
    may_change: bool
    may_enter: bool


@dataclass(frozen=True, slots=True)
class CavesPage:
    template: ClassVar[str] = "caves.html"
    title: str
    part: CavesPart
    path: str
    etag: str


@router.get(PATH)
def caves(visit: Guest) -> Response:
    with visit.looking() as db:
        etag = visit.etag(cards_tag(visit, db))  # before what it speaks of, so that nothing new is missed
        part = _part(visit, db)
    return visit.page(CavesPage("Caves", part, PART, etag))


@router.get(PART)
def cards(visit: Guest) -> Response:
    """The cards, asked for again while somebody looks."""
    with visit.looking() as db:
        return visit.fragment(cards_tag(visit, db), lambda: _part(visit, db))


def cards_tag(visit: Visit, db: Connection) -> tuple[object, ...]:
    """What the cards depend on; times in words change with the minute."""
    c = warning.c
    warned = db.execute(
        select(func.count(), func.max(c.found_at), func.max(c.cleared_at), func.max(c.withdrawn_at))
    ).one()
    newest = visit.readings.newest_change() if visit.readings else 0
    changed = db.execute(select(func.max(fact_change.c.seq))).scalar()
    return (newest, changed, tuple(warned), f"{visit.now_at:%Y%m%d%H%M}")


def _part(visit: Visit, db: Connection) -> CavesPart:
    told = signs(db)
    silent_at = silent_since(told, visit.now_at)
    shown, waiting = _cards(visit, db)
    return CavesPart(
        shown, silent_at, "collector" not in told, _taken_in(told, visit.now_at), waiting,
        visit.person.may("owner"), visit.person.may("helper"),
    )  # fmt: skip


def _cards(visit: Visit, db: Connection) -> tuple[tuple[Card, ...], int]:
    """The cards, and how many probes wait for a place."""
    if visit.readings is None:
        if places(db):
            raise SchemaMissing(visit.house.settings.readings_path)
        return (), 0
    looked = look(db, visit.readings, visit.now_at, visit.household, visit.house.last_days)
    outside = outside_now(looked)
    shown = tuple(card(place_now(looked, one, depth), looked, outside) for one, depth in ordered(looked.facts))
    return shown, waiting_probes(db, visit.readings, looked.facts)


def waiting_probes(db: Connection, readings: Readings, facts: Facts) -> int:
    """How many probes were heard, were never placed, and were not put aside."""
    placed = {probe for probe, _ in facts.placements}
    aside = set(db.execute(select(probe_setting.c.probe).where(probe_setting.c.dismissed_at.is_not(None))).scalars())
    names = {probe.name for probe in readings.probes() if not probe.name.startswith(TYPED_PREFIX)}
    return len(names - placed - aside)


def silent_since(told: Mapping[str, Sign], now_at: datetime) -> datetime | None:
    """Since when the collector gives no sign; None while it does, or before it ever ran."""
    last = told.get("collector")
    return last.at if last is not None and now_at - last.at > SILENT_AFTER else None


def _taken_in(told: Mapping[str, Sign], now_at: datetime) -> Import | None:
    last = told.get("import")
    if last is None or now_at - last.at > IMPORT_SEEN or _whole(last.facts, "left_bytes") <= 0:
        return None
    size = max(1, _whole(last.facts, "file_bytes"))
    share = min(99, 100 * _whole(last.facts, "read_bytes") // size)
    return Import(share, _whole(last.facts, "files_left"))


def _whole(facts: Mapping[str, Any], name: str) -> int:
    value = facts.get(name)
    return int(value) if isinstance(value, (int, float)) else 0
