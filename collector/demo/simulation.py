"""The simulated dairy as others use it: what its probes publish, its true air, and what its wheels weigh.

Everything is computed by whole UTC days that need no other day, so a span comes out the same however it is cut
into calls, and the newest fortnight can be made before the year that precedes it.
"""

from collections import OrderedDict
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from collector.demo.air_run import DayAir, run
from collector.demo.by_hand import HandReading, looked_at_ms, read_dial
from collector.demo.driving import minutes_of, openings_of
from collector.demo.incidents import Incident, touches
from collector.demo.noise import FloatArray, TimeArray
from collector.demo.probes import LEAD_IN, Looks, Measures, Probe, TrueAir, looks
from collector.demo.publishing import ProbeMessage, air_messages, door_messages, hourly_status
from collector.demo.scenario import Scenario, World, incidents_of, wheels_in
from collector.demo.vapour import humidity_pct
from collector.demo.weather import DAY_MS
from collector.demo.weights import DaySums, mass_g, sums_of_day

# How many days run side by side: more make a year quicker and take more memory (2 MB a day).
BATCH_D = 32
# A day's air takes 0.3 MB; what the wheels need of it is kept much smaller, for ever.
KEPT_D = BATCH_D + 8


@dataclass(frozen=True, slots=True)
class PlaceAir:
    """The true air of one place by the minute: [ms since 1970, UTC], [degC], [%], wall or ceiling [degC]."""

    at_ms: TimeArray
    temperature_c: FloatArray
    humidity_pct: FloatArray
    surface_c: FloatArray


class Simulation:
    """A world that is being looked at; it remembers the days it has computed lately, and nothing else."""

    def __init__(self, world: World) -> None:
        self.world = world
        self._columns = [room.name for room in world.scenario.rooms]
        self._columns += [world.scenario.counter, world.scenario.outside]
        self._air: OrderedDict[int, DayAir] = OrderedDict()
        self._sums: dict[int, DaySums] = {}

    def messages(self, from_ms: int, to_ms: int) -> Iterator[ProbeMessage]:
        """What all probes publish in a span, in order of time.

        Args:
            from_ms, to_ms: the span, its end excluded [ms since 1970, UTC].
        Returns:
            The messages, lazily; a batch of days is computed as the first of them is asked for.
        """
        for days in _batches(from_ms, to_ms):
            self._compute(days)
            for day in days:
                yield from (m for m in self._messages_of(day) if from_ms <= m.taken_ms < to_ms)

    def true_air(self, place: str, from_ms: int, to_ms: int) -> PlaceAir:
        """The air of a place as it truly is, by the minute.

        Args:
            place: a room, the counter or outside.
            from_ms, to_ms: the span, its end excluded [ms since 1970, UTC].
        Returns:
            The air; empty for an empty span.
        Raises:
            ValueError: a place whose air is not simulated.
        """
        column = self._column(place)
        parts: list[tuple[TimeArray, FloatArray, FloatArray, FloatArray]] = []
        for days in _batches(from_ms, to_ms):
            self._compute(days)
            for day in days:
                air = self._air[day]
                rows = [course[LEAD_IN:, column] for course in (air.temperature_c, air.vapour_kg_m3, air.skin_c)]
                parts.append((minutes_of(day), rows[0], humidity_pct(rows[1], rows[0]), rows[2]))
        if not parts:
            return PlaceAir(np.zeros(0, np.int64), np.zeros(0), np.zeros(0), np.zeros(0))
        at_ms, *courses = (np.concatenate(column_parts) for column_parts in zip(*parts, strict=True))
        inside = (at_ms >= from_ms) & (at_ms < to_ms)
        return PlaceAir(at_ms[inside], *(course[inside] for course in courses))

    def wheel_mass_g(self, code: str, at_ms: TimeArray) -> FloatArray:
        """What a wheel truly weighs; a batch weighs all its pieces together.

        Args:
            code: the label of one of the world's wheels.
            at_ms: times [ms since 1970, UTC], shape (n,), in order.
        Returns:
            Mass [g], shape (n,); NaN before it is made and once it is gone.
        Raises:
            ValueError: no such wheel.
        """
        for wheel in wheels_in(self.world):
            if wheel.code == code:
                last = int(at_ms.max(initial=wheel.made_ms))
                self._sum_up(wheel.made_ms, last)
                return mass_g(wheel, at_ms, self._sums.__getitem__, self._column)
        raise ValueError(f"{self.world.scenario.name} has no wheel {code}")

    def hand_readings(self, from_ms: int, to_ms: int) -> Iterator[HandReading]:
        """What the keeper reads from the dial at the counter, on mornings when a wheel stands there.

        Args:
            from_ms, to_ms: the span, its end excluded [ms since 1970, UTC].
        Returns:
            The readings in order of time.
        """
        counter, seed = self.world.scenario.counter, self.world.seed
        for day in range(from_ms // DAY_MS, -(-to_ms // DAY_MS)):
            at_ms = looked_at_ms(seed, day)
            stands_there = any(
                wheel.is_there(at_ms) and wheel.place_at(at_ms) == counter for wheel in wheels_in(self.world)
            )
            if from_ms <= at_ms < to_ms and stands_there:
                true = self.true_air(counter, at_ms, at_ms + 1)
                yield read_dial(seed, counter, at_ms, float(true.temperature_c[0]), float(true.humidity_pct[0]))

    def _column(self, place: str) -> int:
        if place not in self._columns:
            raise ValueError(f"place must be one of {', '.join(self._columns)}, got {place}")
        return self._columns.index(place)

    def _compute(self, days: list[int]) -> None:
        missing = [day for day in days if day not in self._air]
        for air in run(self.world, missing) if missing else []:
            self._air[air.day] = air
            self._sums[air.day] = sums_of_day(air)
        for day in days:
            self._air.move_to_end(day)
        while len(self._air) > KEPT_D:
            self._air.popitem(last=False)

    def _sum_up(self, from_ms: int, to_ms: int) -> None:
        missing = [day for day in range(from_ms // DAY_MS, to_ms // DAY_MS + 1) if day not in self._sums]
        for first in range(0, len(missing), BATCH_D):
            self._compute(missing[first : first + BATCH_D])

    def _messages_of(self, day: int) -> list[ProbeMessage]:
        incidents = tuple(i for i in incidents_of(self.world) if touches(i, day * DAY_MS, (day + 1) * DAY_MS))
        found: list[ProbeMessage] = []
        for probe in self.world.scenario.probes:
            if probe.measures is Measures.DOOR:
                found += self._door_messages(probe, day, incidents)
            else:
                found += self._air_messages(probe, day, incidents)
        found.sort(key=lambda message: message.taken_ms)
        return found

    def _door_messages(self, probe: Probe, day: int, incidents: tuple[Incident, ...]) -> list[ProbeMessage]:
        world = self.world
        opened = openings_of(world, probe.place, day)
        return door_messages(
            probe, day, opened, lambda taken: hourly_status(probe, world.seed, world.anchor_ms, taken), incidents
        )

    def _air_messages(self, probe: Probe, day: int, incidents: tuple[Incident, ...]) -> list[ProbeMessage]:
        read = self._looks(probe, day)
        status = hourly_status(probe, self.world.seed, self.world.anchor_ms, read.taken_ms)
        return air_messages(probe, read, status, lambda incident: self._held(probe, incident), incidents)

    def _held(self, probe: Probe, incident: Incident) -> dict[str, float]:
        """What a stuck probe goes on saying: its first look of the spell."""
        read = self._looks(probe, incident.from_ms // DAY_MS)
        first = min(int(np.searchsorted(read.taken_ms, incident.from_ms)), read.taken_ms.size - 1)
        return {name: float(course[first]) for name, course in read.values.items()}

    def _looks(self, probe: Probe, day: int) -> Looks:
        self._compute([day])
        air = self._air[day]
        column = self._column(probe.place)
        surface = probe.measures is Measures.SURFACE
        temperature_c = (air.skin_c if surface else air.temperature_c)[:, column]
        humidity = humidity_pct(air.vapour_kg_m3[:, column], air.temperature_c[:, column])
        return looks(probe, self.world.seed, day, TrueAir(temperature_c, humidity, air.pressure_pa))


def simulate(scenario: Scenario, seed: int, anchor_ms: int, from_ms: int, to_ms: int) -> Iterator[ProbeMessage]:
    """What the probes of a dairy publish in a span; for more than one span of a world keep a `Simulation`.

    Args:
        scenario: the dairy.
        seed: 0 to 2**64 - 1.
        anchor_ms: the demo's first start [ms since 1970, UTC].
        from_ms, to_ms: the span, its end excluded [ms since 1970, UTC].
    Returns:
        The messages in order of time.
    Raises:
        ValueError: a seed outside its range.
    """
    return Simulation(World(scenario, seed, anchor_ms)).messages(from_ms, to_ms)


def _batches(from_ms: int, to_ms: int) -> Iterator[list[int]]:
    days = list(range(from_ms // DAY_MS, -(-to_ms // DAY_MS))) if to_ms > from_ms else []
    for first in range(0, len(days), BATCH_D):
        yield days[first : first + BATCH_D]
