"""What an invented dairy is made of, and a world: one dairy with a seed and the date of its first start."""

from dataclasses import dataclass
from functools import lru_cache

from collector.demo.incidents import Incident, IncidentPlan, dated
from collector.demo.openings import Visit
from collector.demo.probes import Probe
from collector.demo.rooms import Room
from collector.demo.shelves import MakePlan, wheels_of
from collector.demo.wheels import Wheel


@dataclass(frozen=True, slots=True)
class Band:
    """A span from `low` to `high`, both good."""

    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Air:
    """A temperature [degC] and a relative humidity [%] that somebody takes a place to have."""

    temperature_c: float
    humidity_pct: float


@dataclass(frozen=True, slots=True)
class Place:
    """A place of the dairy.

    Attributes:
        name: as the keeper says it; a room of that name has its air simulated.
        within: the place that it stands in.
        temperature_c, humidity_pct: the air that it should have; None has no target.
        assumed: the air taken for granted where no probe hangs.
        account: one line for whoever looks at it first.
    """

    name: str
    account: str
    within: str | None = None
    temperature_c: Band | None = None
    humidity_pct: Band | None = None
    assumed: Air | None = None


@dataclass(frozen=True, slots=True)
class Scenario:
    """A dairy: places, rooms, doors, probes, what goes wrong, and its makes."""

    name: str
    account: str
    places: tuple[Place, ...]
    rooms: tuple[Room, ...]
    visits: tuple[tuple[str, tuple[Visit, ...]], ...]
    probes: tuple[Probe, ...]
    incidents: tuple[IncidentPlan, ...]
    makes: tuple[MakePlan, ...]
    counter: str
    outside: str

    def visits_to(self, room: str) -> tuple[Visit, ...]:
        """When that room's door opens; nothing known is a door that stays shut."""
        return dict(self.visits).get(room, ())

    def probe(self, name: str) -> Probe:
        """The probe of that name.

        Raises:
            ValueError: no such probe.
        """
        for probe in self.probes:
            if probe.name == name:
                return probe
        raise ValueError(f"{self.name} has no probe {name}, only {', '.join(p.name for p in self.probes)}")


@dataclass(frozen=True, slots=True)
class World:
    """One dairy with its chance and its calendar: the same three give the same air, readings and wheels.

    Attributes:
        scenario: the dairy.
        seed: 0 to 2**64 - 1.
        anchor_ms: its first start [ms since 1970, UTC], kept by whoever runs it; only the UTC day counts.
    """

    scenario: Scenario
    seed: int
    anchor_ms: int


@lru_cache(maxsize=8)
def incidents_of(world: World) -> tuple[Incident, ...]:
    """The dated incidents of a world, in order of their beginning."""
    found = (dated(plan, world.anchor_ms) for plan in world.scenario.incidents)
    return tuple(sorted(found, key=lambda incident: incident.from_ms))


@lru_cache(maxsize=8)
def wheels_in(world: World) -> tuple[Wheel, ...]:
    """The dated wheels of a world, oldest first."""
    return wheels_of(world.scenario.makes, world.seed, world.anchor_ms)
