"""Gathers what a rule has to see from the readings and the records."""

from dataclasses import dataclass, field

import numpy as np

from collector.air.channel import calibrated_series, pieces, uncertainty
from collector.air.model import STEP_MS, Air
from collector.air.read import AirReader
from collector.readings.coverage import USUAL_GAPS, held_ms
from collector.readings.model import Channel, Millis, Series, Values
from collector.readings.reader import at_latest_every_ms, series
from collector.records.facts import Facts, Target, spans
from collector.rules.model import Band, ChannelSituation, PlaceSituation

DAY_MS = 86_400_000


@dataclass
class PlaceSituations:
    """Situations of one place; those of a span are gathered once for all rules.

    Args:
        reader: answers for the air. place_id: the place. memory_ms: the longest memory of the rules.
    """

    reader: AirReader
    place_id: str
    memory_ms: int
    _made: dict[tuple[int, int], PlaceSituation] = field(default_factory=dict)

    def at(self, from_ms: int, to_ms: int) -> PlaceSituation:
        if (from_ms, to_ms) not in self._made:
            self._made[from_ms, to_ms] = self._gather(from_ms, to_ms)
        return self._made[from_ms, to_ms]

    def _gather(self, from_ms: int, to_ms: int) -> PlaceSituation:
        start = from_ms - self.memory_ms
        air = self.reader.air(self.place_id, start, to_ms)
        targets = self.reader.facts.targets.get(self.place_id, [])
        columns = target_columns(targets, air.start_ms)
        return PlaceSituation(
            air=air,
            judged_from_ms=from_ms,
            temperature_band_c=Band(columns["temperature_low_c"], columns["temperature_high_c"]),
            humidity_band_pct=Band(columns["humidity_low_pct"], columns["humidity_high_pct"]),
            grace_ms=columns["grace_min"].astype(np.int64) * 60_000,
            resting=columns["resting"].astype(bool),
            outside=self._outside(start, to_ms),
            raw_temperature=self._raw_temperature(start, to_ms) if has_midnight(from_ms, to_ms) else None,
        )

    def _outside(self, start: int, to_ms: int) -> Air | None:
        outside = outside_place(self.reader.facts)
        return None if outside in (None, self.place_id) else self.reader.air(str(outside), start, to_ms)

    def _raw_temperature(self, start: int, to_ms: int) -> Series | None:
        """The raw temperature of the probe that speaks for the place, for the cooler's cycle."""
        lead = self.reader.facts.leads.get(self.place_id, [])
        best: Series | None = None
        for channel in self.reader.channels():
            held = self.reader.roles(channel, self.place_id, start, to_ms).get("temperature")
            if not held:
                continue
            found = calibrated_series(series(self.reader.db, channel.id, start, to_ms), held)
            if lead and lead[-1].probe == channel.probe:
                return found
            if best is None or len(found) > len(best):
                best = found
        return best


def has_midnight(from_ms: int, to_ms: int) -> bool:
    """Whether a UTC day begins in a span: only then the rule about the cooler looks at weeks of raw readings."""
    return -(-from_ms // DAY_MS) * DAY_MS < to_ms


def outside_place(facts: Facts) -> str | None:
    """The place that stands for the air outside, if the household has one."""
    return next((p.id for p in facts.open_places() if p.kind == "outside"), None)


def target_columns(targets: list[Target], grid_ms: Millis) -> dict[str, Values]:
    """The target of a place on each step: NaN where there is none; a place without any target counts as resting."""
    names = ("temperature_low_c", "temperature_high_c", "humidity_low_pct", "humidity_high_pct")
    columns = {name: np.full(len(grid_ms), np.nan) for name in names}
    columns["grace_min"] = np.full(len(grid_ms), 120.0)
    columns["resting"] = np.ones(len(grid_ms))
    for from_ms, to_ms, target in spans(targets, int(grid_ms[0]), int(grid_ms[-1]) + STEP_MS):
        if target is None:
            continue
        rows = (grid_ms >= from_ms) & (grid_ms < to_ms)
        for name in names:
            value = getattr(target, name)
            columns[name][rows] = np.nan if value is None or target.resting else value
        columns["grace_min"][rows] = target.grace_min
        columns["resting"][rows] = float(target.resting)
    return columns


@dataclass
class ChannelSituations:
    """Situations of one channel for the rules about its probe."""

    reader: AirReader
    channel: Channel
    memory_ms: int
    _made: dict[tuple[int, int], ChannelSituation | None] = field(default_factory=dict)

    def at(self, from_ms: int, to_ms: int) -> ChannelSituation | None:
        """None where nothing tells what the channel measures."""
        if (from_ms, to_ms) not in self._made:
            self._made[from_ms, to_ms] = self._gather(from_ms, to_ms)
        return self._made[from_ms, to_ms]

    def _gather(self, from_ms: int, to_ms: int) -> ChannelSituation | None:
        start = from_ms - self.memory_ms
        held = [p for p in pieces(self.channel, self.reader.facts, start, to_ms) if p.quantity is not None]
        if not held:
            return None
        found = series(self.reader.db, self.channel.id, start, to_ms, before=USUAL_GAPS)
        raw = calibrated_series(found, held)
        place = held[-1].placement.place_id if held[-1].placement is not None else None
        grid = np.arange(start // STEP_MS * STEP_MS, to_ms, STEP_MS, dtype=np.int64)
        own, u_own, neighbours, u_neighbours = self._beside(place, held[-1].quantity or "", grid)
        latest = at_latest_every_ms(self.reader.db, self.channel.id)
        return ChannelSituation(
            raw=raw,
            judged_from_ms=from_ms,
            judged_to_ms=to_ms,
            quantity=held[-1].quantity or "",
            held_ms=held_ms(raw.taken_ms, to_ms, latest),
            grid_ms=grid,
            own=own,
            neighbours=neighbours,
            uncertainty=uncertainty(self.channel, held[-1]) if u_own is None else u_own,
            neighbour_uncertainty=u_neighbours,
        )

    def _beside(
        self, place_id: str | None, quantity: str, grid: Millis
    ) -> tuple[Values, Values | None, dict[str, Values], dict[str, float | Values]]:
        """The channel itself and the same quantity from other probes of its place, on the grid, each with what it is
        good for there and then: a check made at 75 % says less about 92 %, and less each month."""
        own, u_own, neighbours = np.full(len(grid), np.nan), None, {}
        u_neighbours: dict[str, float | Values] = {}
        role = "surface" if quantity == "surface_temperature" else quantity
        for stretch in self.reader.stretches(place_id, grid).get(role, []) if place_id else []:
            if stretch.channel.id == self.channel.id:
                own, u_own = stretch.mean, stretch.uncertainty
            elif not stretch.channel.probe.startswith("typed/"):
                neighbours[stretch.channel.probe] = stretch.mean
                u_neighbours[stretch.channel.probe] = stretch.uncertainty
        return own, u_own, neighbours, u_neighbours
