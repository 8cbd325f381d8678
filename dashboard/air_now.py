"""The air of a place at this moment, from the newest readings: as fresh as they are, and chosen as for the rules."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from collector.air.channel import TYPED_PREFIX, Piece, Stretch, calibrated, uncertainties
from collector.air.model import STEP_MS, Course, Origin
from collector.air.place import course, fill_assumed, fill_from_parent
from collector.air.read import AirReader
from collector.readings.coverage import USUAL_GAPS, last_hold_ms
from collector.readings.model import Channel, Mark, Millis
from collector.readings.reader import at_latest_every_ms
from collector.records.facts import Lead, Place, spans
from collector.rules.trust.cleaning import clean_humidity, impossible

AHEAD_MS = 15 * 60_000  # our choice: a probe's clock may be a little ahead of ours
DEEPEST = 5  # places within places


@dataclass(frozen=True, slots=True)
class NewestReading:
    """The newest reading of one channel in a place.

    Args:
        role: temperature, humidity or surface.
        value, uncertainty: calibrated, canonical unit.
        fresh: it still speaks for the air. doubtful: its probe cannot be believed now.
    """

    channel: Channel
    role: str
    piece: Piece
    taken_ms: int
    value: float
    uncertainty: float
    fresh: bool
    doubtful: bool

    @property
    def is_typed(self) -> bool:
        return self.channel.probe.startswith(TYPED_PREFIX)


@dataclass(frozen=True, slots=True)
class Now:
    """One quantity of a place now.

    Args:
        value: calibrated [degC] or [%], None where nothing is known now. uncertainty: standard, same unit.
        origin: where it comes from. readings: those it was made of, none for an assumed air.
        place_id: whose readings they are: the place's own, or one around it.
    """

    value: float | None
    uncertainty: float
    origin: Origin
    readings: tuple[NewestReading, ...]
    place_id: str

    @property
    def is_measured(self) -> bool:
        return self.value is not None and self.origin <= Origin.TYPED


@dataclass(frozen=True, slots=True)
class AirNow:
    """A place's air now, and the newest readings of its channels whether they count or not."""

    temperature_c: Now
    humidity_pct: Now
    surface_c: Now | None
    heard: tuple[NewestReading, ...]

    @property
    def newest_ms(self) -> int | None:
        """When the newest reading of the place's air was taken."""
        return max((r.taken_ms for r in self.heard if r.role != "surface"), default=None)


def air_now(reader: AirReader, place_id: str, now_ms: int) -> AirNow:
    """The air of a place at a time.

    Args:
        reader: facts and doubts as they are now. place_id: a known place. now_ms: this moment [ms].
    Raises:
        KeyError: a place that the facts do not know.
    """
    return _now(reader, reader.facts.places[place_id], now_ms, 0)


def _now(reader: AirReader, place: Place, now_ms: int, depth: int) -> AirNow:
    heard = tuple(newest_readings(reader, place.id, now_ms))
    grid = np.array([now_ms // STEP_MS * STEP_MS], dtype=np.int64)
    leads = spans(reader.facts.leads.get(place.id, []), now_ms, now_ms + 1)
    leads = [(int(grid[0]), int(grid[0]) + STEP_MS, lead) for _, _, lead in leads]
    found = {role: _course(heard, role, leads, grid) for role in ("temperature", "humidity", "surface")}
    own = {role: _value(found[role], role, heard, place.id, leads) for role in found}
    temperature, humidity = own["temperature"], own["humidity"]
    if place.parent_id in reader.facts.places and depth < DEEPEST and None in (temperature.value, humidity.value):
        around = _now(reader, reader.facts.places[place.parent_id], now_ms, depth + 1)
        temperature = _else_around(found["temperature"], temperature, around.temperature_c, "temperature")
        humidity = _else_around(found["humidity"], humidity, around.humidity_pct, "humidity")
    temperature = _else_assumed(found["temperature"], temperature, place.assumed_temperature_c, "temperature")
    humidity = _else_assumed(found["humidity"], humidity, place.assumed_humidity_pct, "humidity")
    return AirNow(temperature, humidity, own["surface"] if own["surface"].value is not None else None, heard)


def newest_readings(reader: AirReader, place_id: str, now_ms: int) -> list[NewestReading]:
    """The newest reading of every channel that measures air or a surface of a place now."""
    found = []
    for channel in reader.channels():
        for role, held in reader.roles(channel, place_id, now_ms, now_ms + 1).items():
            reading = _newest(reader, channel, role, held[-1], now_ms)
            if reading is not None:
                found.append(reading)
    return found


def _newest(reader: AirReader, channel: Channel, role: str, piece: Piece, now_ms: int) -> NewestReading | None:
    rows = reader.db.execute(
        "SELECT taken_ms, value, unit.code FROM reading JOIN unit ON unit.id=reading.unit"
        " WHERE channel=? AND taken_ms<=? AND mark&?=0 ORDER BY taken_ms DESC LIMIT ?",
        (channel.id, now_ms + AHEAD_MS, int(Mark.AT_THE_LATEST), USUAL_GAPS + 1),
    ).fetchall()
    if not rows:
        return None
    taken, sent, unit = rows[0]
    value = calibrated(np.array([sent]), unit, piece)
    if np.isnan(value[0]):
        return None
    wrong = bool(impossible("surface_temperature" if role == "surface" else role, value)[0])
    if role == "humidity" and not wrong:
        value = clean_humidity(value)[0]
    doubtful = wrong or any(a <= taken < b for a, b in reader.doubts.get(channel.id, ()))
    spoken = [row[0] for row in reversed(rows)]
    fresh = now_ms - taken <= last_hold_ms(spoken, at_latest_every_ms(reader.db, channel.id))
    doubt = float(uncertainties(channel, piece, value, np.array([taken]))[0])
    return NewestReading(channel, role, piece, taken, float(value[0]), doubt, fresh, doubtful)


def _course(
    heard: Sequence[NewestReading], role: str, leads: Sequence[tuple[int, int, Lead | None]], grid: Millis
) -> Course:
    stretches = [_stretch(r) for r in heard if r.role == role and r.fresh and not r.doubtful]
    return course(stretches, leads if role != "surface" else [], grid)


def _stretch(reading: NewestReading) -> Stretch:
    value = np.array([reading.value])
    return Stretch(
        reading.channel, value, value, value, np.zeros(1), np.array([float(STEP_MS)]), np.array([reading.uncertainty])
    )


def _value(
    found: Course,
    role: str,
    heard: Sequence[NewestReading],
    place_id: str,
    leads: Sequence[tuple[int, int, Lead | None]],
) -> Now:
    origin = Origin(int(found.origin[0]))
    counted = [r for r in heard if r.role == role and r.fresh and not r.doubtful]
    lead = leads[-1][2] if leads else None
    if origin == Origin.LEAD and lead is not None:
        counted = [r for r in counted if r.channel.probe == lead.probe]
    elif origin != Origin.UNKNOWN:
        counted = [r for r in counted if r.is_typed == (origin == Origin.TYPED)]
    return _of(found, tuple(counted), place_id)


def _of(found: Course, readings: tuple[NewestReading, ...], place_id: str) -> Now:
    value = None if np.isnan(found.mean[0]) else float(found.mean[0])
    return Now(value, float(found.uncertainty[0]), Origin(int(found.origin[0])), readings, place_id)


def _else_around(own: Course, now: Now, around: Now, quantity: str) -> Now:
    """Where the place knows nothing, the room around it."""
    if now.value is not None or around.value is None:
        return now
    parent = course([], [], np.array([0], dtype=np.int64))
    parent.mean[0], parent.uncertainty[0], parent.origin[0] = around.value, around.uncertainty, around.origin
    fill_from_parent(own, parent, quantity)
    return _of(own, around.readings, around.place_id)


def _else_assumed(own: Course, now: Now, assumed: float | None, quantity: str) -> Now:
    if now.value is not None or assumed is None:
        return now
    fill_assumed(own, assumed, quantity)
    return _of(own, (), now.place_id)
