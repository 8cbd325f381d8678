"""What probes said while they could not be believed: left out of the air, drawn apart, never erased."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from collector.air.channel import Piece, on_grid
from collector.air.model import STEP_MS
from collector.air.read import AirReader
from collector.readings.model import Channel, Millis, Values
from collector.readings.reader import rollups
from dashboard.charts.air_course import pieces_of
from dashboard.charts.reduce import Line, joined, reduce_values
from dashboard.charts.spans import Window

Spells = Sequence[tuple[int, int]]


@dataclass(frozen=True, slots=True)
class DoubtfulLine:
    """Readings of one probe that are left out of the air; `role` is temperature, humidity or surface."""

    probe: str
    role: str
    line: Line


def doubtful_lines(reader: AirReader, place_id: str, shown: Window) -> list[DoubtfulLine]:
    """The doubtful readings of a place's probes, in the window's buckets."""
    found = []
    for channel in reader.channels():
        spells = [(a, b) for a, b in reader.doubts.get(channel.id, ()) if b > shown.from_ms and a < shown.to_ms]
        held = reader.roles(channel, place_id, shown.start_ms, shown.to_ms) if spells else {}
        for role, own in held.items():
            line = _line(reader, channel, own, spells, shown)
            if not line.is_empty:
                found.append(DoubtfulLine(channel.probe, role, line))
    return found


def _line(reader: AirReader, channel: Channel, own: Sequence[Piece], spells: Spells, shown: Window) -> Line:
    per = shown.bucket_ms // STEP_MS
    lines = []
    for start, end in pieces_of(shown):
        grid = np.arange(start, end, STEP_MS, dtype=np.int64)
        value = _doubted(reader, channel, own, spells, grid)
        lines.append(reduce_values(value, np.ones(len(grid)), per))
    return joined(lines)


def _doubted(reader: AirReader, channel: Channel, own: Sequence[Piece], spells: Spells, grid: Millis) -> Values:
    bad = np.zeros(len(grid), dtype=bool)
    for from_ms, to_ms in spells:
        bad |= (grid + STEP_MS > from_ms) & (grid < to_ms)
    if not bad.any():
        return np.full(len(grid), np.nan)
    raw = rollups(reader.db, channel.id, int(grid[0]), int(grid[-1]) + STEP_MS)
    return np.where(bad, on_grid(channel, raw, own, grid).mean, np.nan)
