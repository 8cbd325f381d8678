"""What the page of one cave reads: which stretch of time is asked for, and the air in it."""

import sqlite3
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime

from fastapi import HTTPException
from sqlalchemy import Connection, func, select

from collector.air.channel import pieces
from collector.air.read import AirReader
from collector.errors import SchemaMissing
from collector.notify.known import load_known
from collector.readings.model import Channel
from collector.readings.raw_from import oldest_ms, raw_from_ms
from collector.records.columns import from_ms, to_ms
from collector.records.facts import Facts, Place
from collector.records.places import load_facts
from collector.records.tables import fact_change, warning
from collector.watch import doubtful_spans
from dashboard.channels_placed import channels_ever_in
from dashboard.charts.air_course import AirCourse
from dashboard.charts.drawing import Drawing, drawing
from dashboard.charts.mark import Search
from dashboard.charts.marks import Lane, lanes
from dashboard.charts.spans import SPANS, Window, linked, window
from dashboard.errors_shown import Trouble
from dashboard.visit import Visit
from dashboard.wheels.tables import entry

MINUTE_MS, HOUR_MS = 60_000, 3_600_000
EARLIEST, LATEST = datetime(2000, 1, 1, tzinfo=UTC), datetime(2100, 1, 1, tzinfo=UTC)


@dataclass(frozen=True, slots=True)
class Asked:
    """The stretch of time that the address asks for; "" for what it does not say."""

    span: str = ""
    from_at: str = ""
    to_at: str = ""


@dataclass(frozen=True, slots=True)
class CaveAir:
    """The air of one place within a window, ready to be drawn and told."""

    place: Place
    shown: Window
    reader: AirReader
    lanes: tuple[Lane, ...]

    @property
    def means_only_before_ms(self) -> int | None:
        """Where single readings would be drawn but are gone: from when on they are there."""
        gone_ms = raw_from_ms(self.reader.db)
        return gone_ms if gone_ms is not None and self.shown.is_short and self.shown.from_ms < gone_ms else None

    def drawing(self, course: AirCourse | None = None) -> Drawing:
        return drawing(self.reader, self.place.id, self.shown, self.lanes, course)


def cave_air(visit: Visit, db: Connection, place_id: str, asked: Asked) -> CaveAir:
    """Reads facts, doubts and marks of a stretch of time.

    Raises:
        HTTPException: no such place, or times that cannot be read.
        SchemaMissing: nothing was prepared here yet.
    """
    facts = load_facts(db)
    place = facts.places.get(place_id)
    if place is None:
        raise HTTPException(404)
    if visit.readings is None:
        raise SchemaMissing(visit.house.settings.readings_path)
    channels = visit.readings.channels()
    own = channels_ever_in(channels, facts, place, to_ms(visit.now_at))
    shown = window_of(asked, to_ms(visit.now_at), first_ms(visit.readings.db, own, facts, place, to_ms(visit.now_at)))
    doubts = doubtful_spans(db, channels, shown.start_ms, shown.to_ms)
    search = Search(db, load_known(db, visit.now_at, facts), place_id, shown.from_ms, shown.to_ms)
    return CaveAir(place, shown, AirReader(visit.readings.db, facts, doubts, own), tuple(lanes(search)))


def window_of(asked: Asked, now_ms: int, earliest_ms: int) -> Window:
    """The stretch that is asked for: a span that ends somewhere, or from one time to another; a day by default.

    Raises:
        HTTPException: a span that there is not, or times that cannot be read.
    """
    try:
        if asked.from_at and asked.to_at:
            return linked(_ms(asked.from_at), _ms(asked.to_at), now_ms)
        return window(asked.span or "day", now_ms, earliest_ms, _ms(asked.to_at) if asked.to_at else None)
    except (ValueError, KeyError) as error:
        hint = f"A span is one of {', '.join(SPANS)}; a time looks like 2026-03-12T14:10Z."
        raise HTTPException(422, Trouble(422, "This stretch of time was not understood.", hint)) from error


def _ms(text: str) -> int:
    at = datetime.fromisoformat(text)
    at = at.replace(tzinfo=UTC) if at.tzinfo is None else at
    if not EARLIEST <= at <= LATEST:
        raise ValueError(f"a time must lie between 2000 and 2100, got {text}")
    return to_ms(at)


def time_text(at_ms: int) -> str:
    """A time as addresses carry it."""
    return f"{from_ms(at_ms):%Y-%m-%dT%H:%MZ}"


def first_ms(db: sqlite3.Connection, own: Sequence[Channel], facts: Facts, place: Place, now_ms: int) -> int:
    """When the first reading of a place was taken; now where there is none."""
    found = [now_ms]
    for channel in own:
        oldest = oldest_ms(db, channel.id)
        begins = [
            piece.from_ms
            for piece in pieces(channel, facts, 0, now_ms + 1)
            if piece.placement and piece.placement.place_id == place.id
        ]
        if oldest is not None and begins:
            found.append(max(oldest, min(begins)))
    return min(found)


def chart_tag(visit: Visit, db: Connection, place_id: str, asked: Asked) -> tuple[object, ...]:
    """What a chart depends on, so that a phone that has it is not sent it again.

    A long chart changes when its last point has moved on, or when something came late behind it.
    """
    now_ms = to_ms(visit.now_at)
    shown = window_of(asked, now_ms, 0)
    c = warning.c
    warned = db.execute(select(func.count(), func.max(c.found_at), func.max(c.cleared_at), func.max(c.withdrawn_at)))
    facts = db.execute(select(func.max(fact_change.c.seq))).scalar()
    entered = db.execute(select(func.count()).select_from(entry)).scalar()
    moved, late = _moved(visit, shown, now_ms)
    return (place_id, asked, moved, late, tuple(warned.one()), facts, entered)


def _moved(visit: Visit, shown: Window, now_ms: int) -> tuple[int, int]:
    if visit.readings is None:
        return 0, 0
    if shown.is_short:
        return now_ms // MINUTE_MS if shown.live else 0, visit.readings.newest_change()
    pace = min(max(shown.bucket_ms // 10, MINUTE_MS), HOUR_MS)
    behind = shown.to_ms - 2 * shown.bucket_ms if shown.live else shown.to_ms
    late = visit.readings.db.execute("SELECT max(seq) FROM change WHERE from_ms<?", (behind,)).fetchone()[0]
    return now_ms // pace if shown.live else 0, int(late or 0)
