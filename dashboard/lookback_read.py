"""Reads what a look-back asks for, from the readings and the book, and hands it to the pure core. Only reads.

note -> window -> where the wheel stood -> that place's air by the hour -> ranks, likes
     -> all notes of the kind -> episodes -> evidence
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from functools import cached_property
from zoneinfo import ZoneInfo

import numpy as np
from sqlalchemy import Connection, select

from collector.air.channel import pieces
from collector.air.model import STEP_MS, Air
from collector.air.read import AirReader
from collector.readings.model import Channel
from collector.readings.reader import Readings
from collector.records.columns import from_ms, to_ms
from collector.records.facts import Facts
from collector.records.places import load_facts
from collector.rules.hourly import measured
from collector.watch import doubtful_spans
from dashboard.lookback.exposures import HOUR_MS, HOUR_STEPS, Hours, Limits, hours_of
from dashboard.lookback.windows import DAY_MS, Window
from dashboard.wheels import tables
from dashboard.wheels.book import Style, Wheel, styles, wheels
from dashboard.wheels.kinds.coverings import COVERINGS
from dashboard.wheels.shelf_photos import times_seen
from dashboard.wheels.vat_time import Bout, bout_of

MOST_RECORD_D = 10 * 366  # our choice: older air is another cave


@dataclass(frozen=True, slots=True)
class Stood:
    """A stay of a wheel in a place, open ends closed [ms]."""

    wheel_id: str
    place_id: str
    covering: str
    span: Window


@dataclass  # without slots: what is read once is kept in it
class Book:
    """What is read once: wheels, styles, stays, facts; and the air of each place, kept for the next note.

    Args:
        db: the records and the wheel book. readings: a read-only view. now_at: when this is asked.
    """

    db: Connection
    readings: Readings
    now_at: datetime
    zone: ZoneInfo
    _hours: dict[tuple[str, Limits], Hours] = field(default_factory=dict)
    _air: dict[str, Air] = field(default_factory=dict)

    @cached_property
    def now_ms(self) -> int:
        return to_ms(self.now_at)

    @cached_property
    def facts(self) -> Facts:
        return load_facts(self.db)

    @cached_property
    def channels(self) -> list[Channel]:
        return self.readings.channels()

    @cached_property
    def wheels(self) -> dict[str, Wheel]:
        return {wheel.id: wheel for wheel in wheels(self.db)}

    @cached_property
    def styles(self) -> dict[str, Style]:
        return {style.id: style for style in styles(self.db)}

    @cached_property
    def stays(self) -> list[Stood]:
        rows = self.db.execute(select(tables.stay).where(tables.stay.c.place_id.is_not(None))).mappings()
        return [
            Stood(
                row["wheel_id"],
                row["place_id"],
                row["covering"],
                Window(to_ms(row["from_at"]), self.now_ms if row["to_at"] is None else to_ms(row["to_at"])),
            )
            for row in rows
        ]

    def first_bouts(self, kind: str) -> list[Bout]:
        """Every bout of a kind of note, by its first note, in order of time."""
        c = tables.entry.c
        rows = self.db.execute(select(c.id, c.wheel_id, c.body).where(c.kind == "rind_note").order_by(c.happened_at))
        found: dict[str, Bout] = {}
        for row in rows:
            if row.body.get("note") == kind and not row.body.get("gone") and row.wheel_id in self.wheels:
                bout = bout_of(self.db, row.id, self.zone)
                if bout is not None:
                    found.setdefault(bout.first_id, bout)
        return sorted(found.values(), key=lambda bout: bout.to_at)

    def limits(self, wheel_id: str, place_id: str, at_ms: int) -> tuple[Limits, str]:
        """What is too damp, dry and warm for a wheel's style, and its word; of none, for the place's target."""
        style = self.styles.get(self.wheels[wheel_id].style_id or "")
        if style is not None:
            sheet = style.sheet
            found = Limits(sheet.humidity_high_pct, sheet.humidity_low_pct, sheet.temperature_high_c)
            if found != Limits(None, None, None):
                return found, (sheet.name or sheet.rind).split(",")[0].strip()
        target = self.facts.target_at(place_id, from_ms(at_ms))
        if target is None:
            return Limits(None, None, None), ""
        return Limits(target.humidity_high_pct, target.humidity_low_pct, target.temperature_high_c), ""

    def air(self, place_id: str) -> Air | None:
        """All the air that was measured in a place; None where no probe and no person ever measured."""
        if place_id not in self._air:
            since = self._since(place_id)
            if since is None:
                return None
            doubts = doubtful_spans(self.db, self.channels, since, self.now_ms)
            reader = AirReader(self.readings.db, self.facts, doubts, self.channels)
            self._air[place_id] = reader.air(place_id, since, self.now_ms)
        return self._air[place_id]

    def _since(self, place_id: str) -> int | None:
        """When something was first measured in a place by what was placed there then."""
        begun = []
        for channel in self.channels:
            # Not the channel's first arrival: history may have come in after it.
            first = self.readings.db.execute(
                "SELECT min(start_ms) FROM rollup WHERE channel=?", (channel.id,)
            ).fetchone()
            if first is None or first[0] is None:
                continue
            for piece in pieces(channel, self.facts, int(first[0]), self.now_ms):
                if piece.placement is not None and piece.placement.place_id == place_id:
                    begun.append(max(piece.from_ms, int(first[0])))
                    break
        if not begun:
            return None
        return max(min(begun), self.now_ms - MOST_RECORD_D * DAY_MS) // STEP_MS * STEP_MS

    def hours(self, place_id: str, limits: Limits) -> Hours | None:
        """A place's exposures by the hour; None where nothing was ever measured."""
        key = (place_id, limits)
        if key not in self._hours:
            air = self.air(place_id)
            if air is None:
                return None
            self._hours[key] = exposed(air, limits)
        return self._hours[key]

    def where(self, wheel_id: str, window: Window) -> tuple[str, str, float]:
        """Where a wheel stood for most of a window: place, covering, and for how much of it."""
        here = [(s.span.overlap_ms(window), s) for s in self.stays if s.wheel_id == wheel_id]
        by_place: dict[str, int] = {}
        for overlap, stood in here:
            by_place[stood.place_id] = by_place.get(stood.place_id, 0) + overlap
        place = max(by_place, key=lambda one: by_place[one], default="")
        if not place or not by_place[place]:
            return "", "", 0.0
        covering = max((s for s in here if s[1].place_id == place), key=lambda s: s[0])[1].covering
        return place, covering, by_place[place] / (window.to_ms - window.from_ms)

    def there(self, place_id: str) -> list[Window]:
        """When wheels stood in a place, as few spans as possible."""
        return joined(s.span for s in self.stays if s.place_id == place_id)


def exposed(air: Air, limits: Limits) -> Hours:
    """Exposures of what was measured in the place itself; an assumed air or the parent's is no evidence."""
    temperature, humidity = measured(air.temperature_c), measured(air.humidity_pct)
    known = np.minimum(air.temperature_c.known, air.humidity_pct.known)
    # Below 1 % no cave is; a probe that says so is broken, and moist air refuses 0.
    gone = np.isnan(temperature) | ~(humidity >= 1.0)
    temperature, humidity = np.where(gone, np.nan, temperature), np.where(gone, np.nan, humidity)
    surface = None if air.surface_c is None else measured(air.surface_c)
    return hours_of(air.start_ms, temperature, humidity, known, limits, surface, within_pct=air.humidity_pct.spread)


def hourly(air: Air, window: Window) -> tuple[list[int], list[float | None], list[float | None]]:
    """Temperature and humidity about a window by the hour, for its chart."""
    first = int(np.searchsorted(air.start_ms, window.from_ms))
    count = (int(np.searchsorted(air.start_ms, window.to_ms)) - first) // HOUR_STEPS
    rows = slice(first, first + count * HOUR_STEPS)
    courses = []
    for course in (air.temperature_c, air.humidity_pct):
        value = measured(course)[rows].reshape(count, HOUR_STEPS)
        weight = np.where(np.isnan(value), 0.0, course.known[rows].reshape(count, HOUR_STEPS))
        total, time = (weight * np.nan_to_num(value)).sum(axis=1), weight.sum(axis=1)
        courses.append([round(float(a / b), 2) if b > 0 else None for a, b in zip(total, time, strict=True)])
    return [int(air.start_ms[first]) + HOUR_MS * i for i in range(count)], courses[0], courses[1]


def joined(spans: Iterable[Window]) -> list[Window]:
    """Spans joined where they touch or overlap, in order."""
    found: list[Window] = []
    for span in sorted(spans, key=lambda one: one.from_ms):
        if found and span.from_ms <= found[-1].to_ms:
            found[-1] = Window(found[-1].from_ms, max(found[-1].to_ms, span.to_ms))
        else:
            found.append(span)
    return found


def keeps_air_off(covering: str) -> bool:
    """Whether a covering lets no air at the rind."""
    row = COVERINGS.get(covering)
    return row is not None and row.air_free


def notes_between(db: Connection, wheel_ids: Sequence[str], span: Window) -> list[tuple[str, str, int]]:
    """Rind notes on some wheels within a span: wheel, kind, when; what was said to be gone is left out."""
    c = tables.entry.c
    within = (c.happened_at >= from_ms(span.from_ms)) & (c.happened_at < from_ms(span.to_ms))
    rows = db.execute(
        select(c.wheel_id, c.body, c.happened_at)
        .where(c.kind == "rind_note", c.wheel_id.in_(list(wheel_ids)), within)
        .order_by(c.happened_at)
    )
    return [(row.wheel_id, row.body["note"], to_ms(row.happened_at)) for row in rows if not row.body.get("gone")]


def care_times(db: Connection, wheel_ids: Sequence[str]) -> dict[str, dict[str, list[int]]]:
    """When some wheels were turned, looked at and washed [ms], by care and wheel."""
    c = tables.entry.c
    rows = db.execute(
        select(c.wheel_id, c.kind, c.body, c.happened_at).where(
            c.kind.in_(("care", "looked")), c.wheel_id.in_(list(wheel_ids))
        )
    )
    found: dict[str, dict[str, list[int]]] = {"turned": {}, "looked": {}, "washed": {}}
    for row in rows:
        care = "looked" if row.kind == "looked" else row.body.get("care", "")
        for name in {care, "looked" if row.body.get("nothing_new") else care} & set(found):
            found[name].setdefault(row.wheel_id, []).append(to_ms(row.happened_at))
    for wheel_id, at in times_seen(db, wheel_ids):
        found["looked"].setdefault(wheel_id, []).append(to_ms(at))
    return found
