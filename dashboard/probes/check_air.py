"""What the probes say while one of them is checked: its own numbers, and the air it is checked against."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from math import hypot

import numpy as np

from collector.air.channel import calibrated_series, on_grid, pieces
from collector.air.model import STEP_MS
from collector.calibration.fit import Point
from collector.calibration.history import last_check
from collector.calibration.salts import COLDEST_C, WARMEST_C, humidity_over_pct, jar_uncertainty_pct, salt_named
from collector.calibration.settling import HOUR_MS, LONGEST_WINDOW_MS, Settling, settling
from collector.calibration.side_by_side import SAME_AIR_U, Comparison, compare
from collector.errors import EntryRefused
from collector.readings.model import Channel, Series
from collector.readings.reader import Readings
from collector.records.columns import to_ms
from collector.records.facts import Facts
from dashboard.probes.book import Book, is_typed
from dashboard.probes.checking import Pending
from dashboard.probes.values import current_piece

CHECKABLE = ("humidity", "temperature", "surface_temperature")
HABITAT = timedelta(days=30)
USUAL_HUMIDITY_PCT = 88.0  # our choice: where a cave lives of which nothing was read in a month
MOST_SIDE_BY_SIDE_MS = 14 * 24 * HOUR_MS


def fields_of(book: Book, probe: str, now_at: datetime, quantities: Sequence[str] = CHECKABLE) -> dict[str, Channel]:
    """The fields of a probe that can be checked, by name."""
    own = book.channels.get(probe, ())
    return {c.field: c for c in own if current_piece(c, book.facts, now_at).quantity in quantities}


def channel_of(book: Book, probe: str, field: str) -> Channel | None:
    return next((c for c in book.channels.get(probe, ()) if c.field == field), None)


def own_readings(readings: Readings, facts: Facts, channel: Channel, from_ms: int, to_ms: int) -> Series:
    """Readings in canonical units, without what an earlier check made of them."""
    held = [replace(piece, calibration=None) for piece in pieces(channel, facts, from_ms, to_ms)]
    return calibrated_series(readings.series(channel.id, from_ms, to_ms), held)


def in_jar(readings: Readings, book: Book, probe: str, pending: Pending, now_at: datetime) -> Settling | None:
    """Where the test in the jar stands; None when a field of it is no longer known."""
    damp, warm = channel_of(book, probe, pending.field), channel_of(book, *pending.thermometer)
    if damp is None or warm is None:
        return None
    now_ms = to_ms(now_at)
    from_ms = max(pending.since_ms, now_ms - LONGEST_WINDOW_MS)
    rh = own_readings(readings, book.facts, damp, from_ms, now_ms + 1)
    held = pieces(warm, book.facts, from_ms, now_ms + 1)
    t = calibrated_series(readings.series(warm.id, from_ms, now_ms + 1), held)
    return settling(rh.taken_ms, rh.value, t.taken_ms, t.value, pending.since_ms, now_ms)


def point_over(salt_name: str, found: Settling) -> Point:
    """The settled reading as a point.

    Raises:
        EntryRefused: something still moves, or the jar is colder or warmer than the salts are known.
    """
    if not found.settled:
        raise EntryRefused("point", "It has not settled yet, so the point is not taken. Leave the jar closed.")
    if not COLDEST_C <= found.temperature_c <= WARMEST_C:
        limits = f"{COLDEST_C:g} to {WARMEST_C:g} °C"
        raise EntryRefused("point", f"The jar must have {limits}, it has {found.temperature_c:.1f} °C.")
    salt = salt_named(salt_name)
    doubt = hypot(jar_uncertainty_pct(salt, found.temperature_c), found.reading_u_pct)
    return Point(found.reading_pct, float(humidity_over_pct(salt, found.temperature_c)), doubt, found.temperature_c)


def side_by_side(
    readings: Readings, book: Book, probe: str, pending: Pending, now_at: datetime
) -> tuple[str, Comparison] | None:
    """The quantity and how a stay beside a checked probe stands; None when a field of it is no longer known."""
    own, other = channel_of(book, probe, pending.field), channel_of(book, *pending.beside)
    if own is None or other is None:
        return None
    quantity = current_piece(own, book.facts, now_at).quantity or ""
    if quantity not in SAME_AIR_U:
        return None
    now_ms = to_ms(now_at)
    start = -(-max(pending.since_ms, now_ms - MOST_SIDE_BY_SIDE_MS) // STEP_MS) * STEP_MS
    grid = np.arange(start, max(now_ms // STEP_MS * STEP_MS, start + STEP_MS), STEP_MS, dtype=np.int64)
    end = int(grid[-1]) + STEP_MS
    bare = [replace(piece, calibration=None) for piece in pieces(own, book.facts, start, end)]
    checked = pieces(other, book.facts, start, end)
    reading = on_grid(own, readings.rollups(own.id, start, end), bare, grid)
    true = on_grid(other, readings.rollups(other.id, start, end), checked, grid)
    known = true.uncertainty[~np.isnan(true.uncertainty) & (true.uncertainty > 0)]
    doubt = float(np.median(known)) if len(known) else SAME_AIR_U[quantity]
    return quantity, compare(quantity, reading.mean, true.mean, doubt)


def checked_ones(book: Book, probe: str, now_at: datetime) -> list[Channel]:
    """Fields of other probes that were checked, to hang this one beside."""
    return [
        channel
        for name, own in sorted(book.channels.items())
        if name != probe and not is_typed(name)
        for channel in own
        if last_check(book.facts.calibrations.get((name, channel.field), []), now_at) is not None
    ]


def habitat_pct(readings: Readings, facts: Facts, channel: Channel, now_at: datetime) -> float:
    """The humidity at which a probe lived for the last month, its median [%RH]; NaN when nothing was read."""
    from_ms, to = to_ms(now_at - HABITAT) // STEP_MS * STEP_MS, to_ms(now_at)
    grid = np.arange(from_ms, to, STEP_MS, dtype=np.int64)
    found = on_grid(channel, readings.rollups(channel.id, from_ms, to), pieces(channel, facts, from_ms, to), grid).mean
    known = found[(found > 0) & (found <= 100)]
    return float(np.median(known)) if len(known) else float("nan")
