"""The readings themselves, as each probe of a place sent them: for short stretches, where they can be told apart."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from collector.air.channel import TYPED_PREFIX, Piece, calibrated_series
from collector.air.read import AirReader
from collector.moist_air import dew_point_c
from collector.readings.coverage import USUAL_GAPS, held_ms
from collector.readings.model import Channel, Millis, Values
from collector.readings.raw_from import raw_from_ms
from collector.readings.reader import at_latest_every_ms, series
from collector.records.facts import spans
from collector.rules.dew_margin import DRIEST_PCT
from collector.rules.trust.cleaning import Flags, clean_humidity, impossible
from dashboard.charts.spans import DAY_MS, Window

MOST_READINGS = 2_000  # of one line: a probe that speaks more often is drawn by ten-minute steps


@dataclass(frozen=True, slots=True)
class RawLine:
    """The calibrated readings of one channel; shape (n,) each.

    Args:
        role: temperature, humidity or surface.
        doubtful: readings that are left out of the air.
        held_ms: how long each reading speaks; beyond it the time is unknown.
    """

    probe: str
    role: str
    taken_ms: Millis
    value: Values
    doubtful: Flags
    held_ms: Millis

    @property
    def is_typed(self) -> bool:
        return self.probe.startswith(TYPED_PREFIX)

    def believed(self) -> tuple[Millis, Values]:
        """Times and values to be drawn as a line: broken by NaN where time is unknown or a reading doubtful."""
        return self._broken(np.where(self.doubtful, np.nan, self.value))

    def doubted(self) -> tuple[Millis, Values]:
        """The doubtful readings alone."""
        return self._broken(np.where(self.doubtful, self.value, np.nan))

    def _broken(self, value: Values) -> tuple[Millis, Values]:
        ends = self.taken_ms + self.held_ms
        gaps = np.flatnonzero(ends[:-1] < self.taken_ms[1:])
        return np.insert(self.taken_ms, gaps + 1, ends[gaps]), np.insert(value, gaps + 1, np.nan)


def raw_lines(reader: AirReader, place_id: str, shown: Window) -> list[RawLine] | None:
    """The readings of every probe of a place; None where they are too many to be drawn one by one, or gone."""
    gone_ms = raw_from_ms(reader.db)
    if gone_ms is not None and shown.from_ms < gone_ms:
        return None
    found = raw_lines_of(reader, place_id, shown)
    return None if any(len(line.taken_ms) > MOST_READINGS for line in found) else found


def raw_lines_of(reader: AirReader, place_id: str, shown: Window) -> list[RawLine]:
    """The readings of every probe of a place, and the one before the window where it still spoke at its beginning."""
    found = []
    for channel in reader.channels():
        # Readings a little before and after belong to the line's ends.
        for role, own in reader.roles(channel, place_id, shown.from_ms - DAY_MS, shown.to_ms + DAY_MS).items():
            line = _line(reader, channel, role, own, shown)
            if len(line.taken_ms):
                found.append(line)
    return found


def _line(reader: AirReader, channel: Channel, role: str, own: Sequence[Piece], shown: Window) -> RawLine:
    raw = series(reader.db, channel.id, shown.from_ms, shown.to_ms, before=USUAL_GAPS, after=1)
    known = calibrated_series(raw, own)
    held = held_ms(known.taken_ms, shown.to_ms, at_latest_every_ms(reader.db, channel.id))
    value = clean_humidity(known.value)[0] if role == "humidity" else known.value
    # The last reading before the window counts where it still spoke at its beginning.
    inside = (known.taken_ms + held > shown.from_ms) & ~np.isnan(value)
    taken, value, held = known.taken_ms[inside], value[inside], held[inside]
    return RawLine(channel.probe, role, taken, value, _doubtful(reader, channel, role, taken, value), held)


def _doubtful(reader: AirReader, channel: Channel, role: str, taken: Millis, value: Values) -> Flags:
    quantity = "surface_temperature" if role == "surface" else role
    doubtful = impossible(quantity, value)
    for from_ms, to_ms in reader.doubts.get(channel.id, ()):
        doubtful |= (taken >= from_ms) & (taken < to_ms)
    return doubtful


def speaking(reader: AirReader, place_id: str, lines: Sequence[RawLine], role: str, shown: Window) -> RawLine | None:
    """The one line that stands for the place's air all along: the lead probe's, or the only one there is."""
    own = [line for line in lines if line.role == role]
    leads = {
        lead.probe if lead else None
        for _, _, lead in spans(reader.facts.leads.get(place_id, []), shown.from_ms, shown.to_ms)
    }
    if len(leads) == 1 and None not in leads:
        found = [line for line in own if line.probe in leads and not line.doubtful.any()]
        if found:
            return found[0]
    return own[0] if len(own) == 1 else None


def raw_dew_point(temperature: RawLine, humidity: RawLine) -> tuple[Millis, Values] | None:
    """Dew point [degC] of each message that told both; None where the two were told apart."""
    both, t_rows, h_rows = np.intersect1d(temperature.taken_ms, humidity.taken_ms, return_indices=True)
    if temperature.probe != humidity.probe or len(both) < 0.9 * max(len(temperature.taken_ms), len(humidity.taken_ms)):
        return None
    doubtful = temperature.doubtful[t_rows] | humidity.doubtful[h_rows]
    h = humidity.value[h_rows]
    t = np.where(doubtful | (h < DRIEST_PCT), np.nan, temperature.value[t_rows])
    line = RawLine(
        temperature.probe, "dew", both, np.asarray(dew_point_c(t, np.maximum(h, DRIEST_PCT))), doubtful,
        temperature.held_ms[t_rows],
    )  # fmt: skip
    return line.believed()
