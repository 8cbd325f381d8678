"""The air of places as the weight of wheels needs it. Only reads."""

import sqlite3
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime

import numpy as np
from sqlalchemy import Connection

from collector.air.model import Air
from collector.air.read import AirReader
from collector.calibration.history import NEW_SENSOR
from collector.readings.model import Channel
from collector.records.columns import to_ms
from collector.records.facts import Facts, Place
from collector.records.places import load_facts
from collector.watch import doubtful_spans
from dashboard.channels_placed import channels_ever_in
from dashboard.wheel_air import WheelAirReader
from dashboard.wheels.stays import Stay
from dashboard.wheels.weight.exposure import Exposure, exposed
from dashboard.wheels.weight.to_come import spread_pct

DAY_MS = 86_400_000
MONTH_D, RECORD_D = 30, 360
# A drying counter is for days, not for ripening; nobody is told to leave a wheel there.
KINDS = frozenset({"cave", "shelf", "box"})
# Our choice: a place can be advised when so much of its last month is known, or when its air is assumed.
KNOWN_ENOUGH = 0.2
MOST_PLACES = 12


@dataclass(frozen=True, slots=True)
class Around:
    """What was read once for all wheels.

    Args:
        readings: a connection to the readings. channels: all there are. months: air of places over the last month, and
            spreads over the record, filled as they are asked for.
    """

    readings: sqlite3.Connection
    facts: Facts
    channels: Sequence[Channel]
    doubts: dict[int, list[tuple[int, int]]]
    now_at: datetime
    months: dict[str, Exposure] = field(default_factory=dict)
    airs: dict[str, Air] = field(default_factory=dict)
    records: dict[str, Exposure] = field(default_factory=dict)

    @property
    def now_ms(self) -> int:
        return to_ms(self.now_at)

    def place(self, place_id: str | None) -> Place | None:
        return self.facts.places.get(place_id or "")

    def of_wheel(self, stays: Sequence[Stay], from_ms: int) -> Air:
        """The air around a wheel up to now; unknown where nobody said where it stood."""
        channels = self._ever_in({stay.place_id for stay in stays})
        reader = WheelAirReader(self.readings, self.facts, self.doubts, channels, tuple(stays))
        return reader.air("", from_ms, self.now_ms)

    def month_air(self, place_id: str) -> Air:
        """The air of a place over the last month."""
        if place_id not in self.airs:
            own = AirReader(self.readings, self.facts, self.doubts, self._ever_in({place_id}))
            self.airs[place_id] = own.air(place_id, self.now_ms - MONTH_D * DAY_MS, self.now_ms)
        return self.airs[place_id]

    def month(self, place_id: str) -> Exposure:
        """What the air of a place pulled over the last month."""
        if place_id not in self.months:
            span = self.now_ms - MONTH_D * DAY_MS, self.now_ms
            self.months[place_id] = exposed(self.month_air(place_id), (), *span)
        return self.months[place_id]

    def spread_pct(self, place_id: str, days: float) -> float:
        """By how much past stretches as long as the time to come differed in this place [points]."""
        if place_id not in self.records:
            own = AirReader(self.readings, self.facts, self.doubts, self._ever_in({place_id}))
            span = self.now_ms - RECORD_D * DAY_MS, self.now_ms
            self.records[place_id] = exposed(own.air(place_id, *span), (), *span)
        return spread_pct(self.records[place_id], max(days, 1.0))

    def probe_u_pct(self, place_id: str) -> float:
        """How far the humidity of a place may be off, standard uncertainty [points]; a wide one for a guess."""
        known = self.month_air(place_id).humidity_pct.uncertainty
        known = known[~np.isnan(known)]
        return float(np.median(known)) if len(known) else 8.0

    def is_known(self, place_id: str) -> bool:
        """Whether anything can be said of this place's air: measured, or assumed by a person."""
        place = self.facts.places[place_id]
        return place.assumed_humidity_pct is not None or self.month(place_id).known_share >= KNOWN_ENOUGH

    def has_own_probe(self, place_id: str) -> bool:
        """Whether its air is told by a probe in it, rather than by the room around it or a guess."""
        return self.is_measured(place_id) and self.month(place_id).guessed_share < 0.5

    def is_measured(self, place_id: str) -> bool:
        """Whether readings spoke for its last month, if only those of the room around it."""
        return self.month(place_id).known_share >= KNOWN_ENOUGH

    def checked_at(self, place_id: str) -> datetime | None:
        """When a probe for the humidity of this place was last checked."""
        found = [
            check.known_from_at
            for channel in self._ever_in({place_id})
            if channel.quantity == "humidity"
            for check in self.facts.calibrations.get((channel.probe, channel.field), [])
            if check.method != NEW_SENSOR and check.known_from_at <= self.now_at
        ]
        return max(found, default=None)

    def advisable(self) -> list[Place]:
        """Places that a wheel could be moved to, in the person's order."""
        return [
            place
            for place in sorted(self.facts.places.values(), key=lambda one: (one.position, one.name))
            if place.kind in KINDS and place.closed_at is None and self.is_known(place.id)
        ][:MOST_PLACES]

    def _ever_in(self, place_ids: set[str | None]) -> list[Channel]:
        found: dict[int, Channel] = {}
        for place_id in place_ids:
            place = self.place(place_id)
            if place is not None:
                own = channels_ever_in(self.channels, self.facts, place, self.now_ms)
                found |= {channel.id: channel for channel in own}
        return list(found.values())


def look_around(db: Connection, readings: sqlite3.Connection, channels: Sequence[Channel], now_at: datetime) -> Around:
    """Read facts and doubts once."""
    now_ms = to_ms(now_at)
    doubts = doubtful_spans(db, channels, now_ms - 3 * 366 * DAY_MS, now_ms)
    return Around(readings, load_facts(db), channels, doubts, now_at)
