"""Puts the invented dairy's places, targets and probes into the records, as a keeper would have by hand."""

from datetime import datetime, timedelta

from sqlalchemy import Connection, insert, select

from collector.demo.probes import Measures, Probe
from collector.demo.scenario import Place, Scenario
from collector.records import tables
from collector.records.columns import new_id
from collector.records.facts import Lead, Placement, Target
from collector.records.facts import Place as RecordPlace
from collector.records.places import add_fact, add_place

SETTLED = timedelta(days=400)  # before the anchor: the dairy has been there longer than its history
KEEPER = "keeper"
GRACE_MIN = 120


def settle(connection: Connection, scenario: Scenario, anchor_at: datetime) -> None:
    """Write places, targets and placements; does nothing where the dairy has settled before."""
    if connection.execute(select(tables.place.c.id).limit(1)).first() is not None:
        return
    since = anchor_at - SETTLED
    ids: dict[str, str] = {}
    for position, place in enumerate(scenario.places):
        ids[place.name] = _place(connection, scenario, place, position, ids)
        if place.temperature_c is not None or place.humidity_pct is not None:
            add_fact(connection, _target(place, ids[place.name], since))
    for probe in scenario.probes:
        add_fact(connection, _placement(probe, scenario, ids, since))
    for name, lead in _leads(scenario).items():
        add_fact(connection, Lead(new_id(), since, since, ids[name], lead, by=KEEPER))
    # The dairy has been running for a while: nobody is led through a first start.
    for key, value in (("household.dairy_name", scenario.name), ("first_start.done", True)):
        connection.execute(insert(tables.setting).values(key=key, value=value))


def _place(connection: Connection, scenario: Scenario, place: Place, position: int, ids: dict[str, str]) -> str:
    kind = {scenario.outside: "outside", scenario.counter: "counter"}.get(place.name, "box" if place.within else "cave")
    own = RecordPlace(
        id=new_id(),
        name=place.name,
        kind=kind,
        parent_id=ids.get(place.within or ""),
        position=position,
        assumed_temperature_c=place.assumed.temperature_c if place.assumed else None,
        assumed_humidity_pct=place.assumed.humidity_pct if place.assumed else None,
    )
    add_place(connection, own)
    return own.id


def _target(place: Place, place_id: str, since: datetime) -> Target:
    temperature, humidity = place.temperature_c, place.humidity_pct
    return Target(
        id=new_id(),
        valid_from_at=since,
        known_from_at=since,
        place_id=place_id,
        temperature_low_c=temperature.low if temperature else None,
        temperature_high_c=temperature.high if temperature else None,
        humidity_low_pct=humidity.low if humidity else None,
        humidity_high_pct=humidity.high if humidity else None,
        grace_min=GRACE_MIN,
        by=KEEPER,
    )


def _placement(probe: Probe, scenario: Scenario, ids: dict[str, str], since: datetime) -> Placement:
    site = "surface" if probe.measures is Measures.SURFACE else "air"
    if probe.place == scenario.outside:
        site = "outside"
    return Placement(new_id(), since, since, probe.name, site, ids[probe.place], by=KEEPER)


def _leads(scenario: Scenario) -> dict[str, str]:
    """Of several air probes in a place, the one that looks most often speaks for it."""
    air = [p for p in scenario.probes if p.measures is Measures.AIR]
    by_place: dict[str, list[Probe]] = {}
    for probe in air:
        by_place.setdefault(probe.place, []).append(probe)
    return {place: min(own, key=lambda p: p.interval_s).name for place, own in by_place.items() if len(own) > 1}
