"""What the rules about air say of a year of the demo's dairy, beside what was planted there.

Run with `python -m tests.bench.bench_dairy_rules` (a minute or two). It prints tables and asserts nothing. The dairy is
a simulation of heat and moisture made without regard to the rules; what a warning is about is known from its incidents:
a warning that opens during one in its place, or up to a day and a half after, is put down to it.
"""

from collections import Counter
from dataclasses import dataclass

import numpy as np

from collector.air.model import STEP_MS, Air, Course, Origin
from collector.demo.incidents import Incident, IncidentKind
from collector.demo.quillfold import QUILLFOLD
from collector.demo.scenario import Place, World, incidents_of
from collector.demo.simulation import PlaceAir, Simulation
from collector.readings.model import Series, Values
from collector.rules.model import Band, PlaceSituation, Verdict
from collector.rules.place_rules import PLACE_RULES

ANCHOR_MS = 1_782_864_000_000  # 1 July 2026
DAYS = 365
SINCE_MS = ANCHOR_MS - DAYS * 86_400_000
AFTER_MS = 36 * 3_600_000
HOUR_MS = 3_600_000
SEEN_BY_AIR = (
    IncidentKind.HUMIDIFIER_DRY,
    IncidentKind.DOOR_AJAR,
    IncidentKind.COOLER_FAILING,
    IncidentKind.POWER_CUT,
    IncidentKind.DAMP_SPELL,
)


@dataclass(frozen=True, slots=True)
class Judged:
    """A place of the dairy with what was found there."""

    place: Place
    verdicts: list[Verdict]


def main() -> None:
    world = World(QUILLFOLD, 7, ANCHOR_MS)
    simulation = Simulation(world)
    outside = _air(simulation.true_air(QUILLFOLD.outside, SINCE_MS, ANCHOR_MS), with_surface=False)
    found = []
    for place in QUILLFOLD.places:
        if place.temperature_c is not None:
            seen = _situation(place, simulation.true_air(place.name, SINCE_MS, ANCHOR_MS), outside)
            found.append(Judged(place, [v for rule in PLACE_RULES.values() for v in rule.judge(seen, None)]))
    incidents = [one for one in incidents_of(world) if SINCE_MS <= one.from_ms < ANCHOR_MS and one.kind in SEEN_BY_AIR]
    _print_incidents(incidents, found)
    _print_unexplained(incidents, found)


def _situation(place: Place, true: PlaceAir, outside: Air) -> PlaceSituation:
    air = _air(true, with_surface=place.name == "cellar")
    n = len(air)
    rng = np.random.default_rng(3)
    raw = np.round(true.temperature_c + 0.03 * rng.standard_normal(len(true.at_ms)), 2)
    nothing = np.zeros(len(raw), dtype=np.int64)
    bands = [Band(np.full(n, b.low), np.full(n, b.high)) for b in (place.temperature_c, place.humidity_pct) if b]
    return PlaceSituation(
        air=air,
        judged_from_ms=int(air.start_ms[0]),
        temperature_band_c=bands[0],
        humidity_band_pct=bands[1],
        grace_ms=np.full(n, 2 * HOUR_MS, dtype=np.int64),
        resting=np.zeros(n, dtype=bool),
        outside=outside,
        raw_temperature=Series(true.at_ms, raw, nothing, nothing, {0: "Cel"}),
    )


def _air(true: PlaceAir, *, with_surface: bool) -> Air:
    humidity = np.clip(true.humidity_pct, 1, 100)
    surface = _course(true.surface_c, 0.5) if with_surface else None
    start_ms = true.at_ms[::10] // STEP_MS * STEP_MS
    return Air(start_ms, _course(true.temperature_c, 0.1), _course(humidity, 2.0), surface)


def _course(minutes: Values, u: float) -> Course:
    rows = minutes.reshape(-1, 10)
    n = len(rows)
    lead = np.full(n, Origin.LEAD, dtype=np.int8)
    return Course(rows.mean(axis=1), rows.min(axis=1), rows.max(axis=1), np.ones(n), np.full(n, u), lead)


def _of(incident: Incident, place: Place, verdict: Verdict) -> bool:
    here = incident.place in (place.name, place.within, QUILLFOLD.name)
    return here and incident.from_ms <= verdict.opened_ms < incident.to_ms + AFTER_MS


def _print_incidents(incidents: list[Incident], found: list[Judged]) -> None:
    print("Planted incidents and the first warnings of each rule, in hours from the incident's begin\n")
    for incident in incidents:
        first: dict[str, float] = {}
        for judged in found:
            for verdict in judged.verdicts:
                if _of(incident, judged.place, verdict):
                    hours = (verdict.opened_ms - incident.from_ms) / HOUR_MS
                    name = f"{judged.place.name}: {_name(verdict)}"
                    first[name] = min(hours, first.get(name, np.inf))
        told = ", ".join(f"{name} {hours:.0f}" for name, hours in sorted(first.items(), key=lambda pair: pair[1]))
        long = (incident.to_ms - incident.from_ms) / HOUR_MS
        print(f"{incident.kind.value:15} {incident.place:18} {long:5.0f} h  {told or '-'}")


def _print_unexplained(incidents: list[Incident], found: list[Judged]) -> None:
    print("\nOther warnings, a place and month\n")
    for judged in found:
        rest = [v for v in judged.verdicts if not any(_of(one, judged.place, v) for one in incidents)]
        counts = Counter(_name(verdict) for verdict in rest)
        told = ", ".join(f"{name} {count / DAYS * 30:.2f}" for name, count in counts.most_common())
        print(f"{judged.place.name:18} {len(rest) / DAYS * 30:5.2f}  {told}")


def _name(verdict: Verdict) -> str:
    what = verdict.facts.get("what")
    return f"{verdict.rule} ({', '.join(what)})" if what else verdict.rule


if __name__ == "__main__":
    main()
