"""Reads the air of a place from the readings and the records; the one way for rules, pages, weight and look-back."""

import sqlite3
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from collector.air.channel import Piece, Stretch, on_grid, pieces
from collector.air.model import STEP_MS, Air, Course, Origin
from collector.air.place import course, fill_assumed, fill_from_parent, without_doubt
from collector.readings.model import Channel, Millis
from collector.readings.reader import channels, rollups
from collector.records.facts import Facts, Place, spans
from collector.rules.trust.cleaning import clean_humidity, impossible

Role = str  # temperature, humidity or surface


@dataclass(frozen=True, slots=True)
class AirReader:
    """What is needed to answer for the air of any place: readings, dated facts, and which readings are doubtful.

    Args:
        db: a connection to the readings, the writer's or a read-only one.
        facts: dated facts as known at the time that is asked for.
        doubts: spans in which a channel's own faults make it doubtful, by channel number.
    """

    db: sqlite3.Connection
    facts: Facts
    doubts: dict[int, list[tuple[int, int]]] = field(default_factory=dict)
    known_channels: list[Channel] | None = None

    def channels(self) -> list[Channel]:
        return self.known_channels if self.known_channels is not None else channels(self.db)

    def air(self, place_id: str, from_ms: int, to_ms: int) -> Air:
        """The air of a place on the ten-minute grid.

        Args:
            place_id: a known place. from_ms, to_ms: the span; the grid begins at or before from_ms.
        Raises:
            KeyError: a place that the facts do not know.
        """
        grid = np.arange(from_ms // STEP_MS * STEP_MS, max(to_ms, from_ms + 1), STEP_MS, dtype=np.int64)
        return self._air(self.facts.places[place_id], grid, depth=0)

    def _air(self, place: Place, grid: Millis, depth: int) -> Air:
        by_role = self.stretches(place.id, grid)
        leads = spans(self.facts.leads.get(place.id, []), int(grid[0]), int(grid[-1]) + STEP_MS)
        temperature = _possible(course(by_role["temperature"], leads, grid), "temperature")
        humidity = course(by_role["humidity"], leads, grid)
        if place.parent_id in self.facts.places and depth < 5 and _has_gaps(temperature, humidity):
            parent = self._air(self.facts.places[place.parent_id], grid, depth + 1)
            fill_from_parent(temperature, parent.temperature_c, "temperature")
            fill_from_parent(humidity, parent.humidity_pct, "humidity")
        fill_assumed(temperature, place.assumed_temperature_c, "temperature")
        fill_assumed(humidity, place.assumed_humidity_pct, "humidity")
        surface = course(by_role["surface"], [], grid) if by_role["surface"] else None
        surface = surface and _possible(surface, "surface_temperature")
        sources = tuple(sorted({s.channel.probe for role in ("temperature", "humidity") for s in by_role[role]}))
        return Air(grid, temperature, _cleaned(humidity), surface, sources)

    def stretches(self, place_id: str, grid: Millis) -> dict[Role, list[Stretch]]:
        """The channels that measured in a place, by what they measured, doubtful steps left out."""
        found: dict[Role, list[Stretch]] = {"temperature": [], "humidity": [], "surface": []}
        for channel in self.channels():
            for role, own in self.roles(channel, place_id, int(grid[0]), int(grid[-1]) + STEP_MS).items():
                raw = rollups(self.db, channel.id, own[0].from_ms // STEP_MS * STEP_MS, own[-1].to_ms)
                stretch = on_grid(channel, raw, own, grid)
                found[role].append(without_doubt(stretch, grid, self.doubts.get(channel.id, ())))
        return found

    def roles(self, channel: Channel, place_id: str, from_ms: int, to_ms: int) -> dict[Role, list[Piece]]:
        """The pieces of a channel that measured the air or a surface of a place within a span."""
        result: dict[Role, list[Piece]] = {}
        for piece in pieces(channel, self.facts, from_ms, to_ms):
            role = _role(piece)
            if role and piece.placement is not None and piece.placement.place_id == place_id:
                result.setdefault(role, []).append(piece)
        return result


def _role(piece: Piece) -> Role | None:
    if piece.is_surface:
        return "surface"
    return piece.quantity if piece.quantity in ("temperature", "humidity") else None


def _has_gaps(*courses: Course) -> bool:
    return any(bool(np.isnan(c.mean).any()) for c in courses)


def _possible(temperature: Course, quantity: str) -> Course:
    """Without the steps whose mean no air can have: what follows would refuse them."""
    wrong = impossible(quantity, temperature.mean)
    if not wrong.any():
        return temperature
    mean, low, high, doubt = (
        np.where(wrong, np.nan, values)
        for values in (temperature.mean, temperature.low, temperature.high, temperature.uncertainty)
    )
    origin = np.where(wrong, Origin.UNKNOWN, temperature.origin).astype(np.int8)
    return Course(mean, low, high, np.where(wrong, 0.0, temperature.known), doubt, origin, temperature.spread)


def _cleaned(humidity: Course) -> Course:
    """Calibrated humidity a little above 100 % is 100; far above it is no humidity."""
    mean, _ = clean_humidity(humidity.mean)
    low, _ = clean_humidity(humidity.low)
    high, _ = clean_humidity(humidity.high)
    gone = np.isnan(mean)
    return replace(
        humidity,
        mean=mean,
        low=np.where(gone, np.nan, low),
        high=np.where(gone, np.nan, high),
        known=np.where(gone, 0.0, humidity.known),
        origin=np.where(gone, Origin.UNKNOWN, humidity.origin).astype(np.int8),
    )


def channels_in(reader: AirReader, place_id: str, from_ms: int, to_ms: int) -> Sequence[Channel]:
    """Every channel that was placed somewhere in a place within a span, whatever it measures."""
    return [
        channel
        for channel in reader.channels()
        if any(
            p.placement is not None and p.placement.place_id == place_id
            for p in pieces(channel, reader.facts, from_ms, to_ms)
        )
    ]
