"""What words need beside a warning: names, the household's choices, what stands in a place."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime

from sqlalchemy import Connection, select

from collector.notify.household import Household, load_household
from collector.records import tables
from collector.records.facts import Facts
from collector.records.places import load_facts
from collector.records.warnings import CaveWarning

STANDS_IN = "stands_in."  # settings that the wheel book writes: who stands in a place, in words, by its id


@dataclass(frozen=True, slots=True)
class Known:
    """Names and choices.

    Args:
        place_names: by id. probe_names: names that people gave, by probe. probe_places: where a probe is, by probe.
        stands_in: what stands in a place ("6 washed, 3 tommes"), by place id; empty without a wheel book.
        times: how often a warning's rule has spoken of its subject within a day, by warning id.
    """

    household: Household = field(default_factory=Household)
    place_names: Mapping[str, str] = field(default_factory=dict)
    probe_names: Mapping[str, str] = field(default_factory=dict)
    probe_places: Mapping[str, str] = field(default_factory=dict)
    stands_in: Mapping[str, str] = field(default_factory=dict)
    times: Mapping[str, int] = field(default_factory=dict)

    def with_times(self, times: Mapping[str, int]) -> "Known":
        return replace(self, times=times)

    def place_of(self, warning: CaveWarning) -> str | None:
        """The place that a warning is about, its own or its probe's."""
        return warning.place_id or self.probe_places.get(warning.probe or "")

    def subject(self, warning: CaveWarning) -> str:
        """Whom a warning is about, as a person calls it."""
        if warning.place_id is not None:
            return self.place_names.get(warning.place_id, "a place no longer known")
        if warning.probe is None:
            return "rindwatch"
        name = self.probe_names.get(warning.probe) or warning.probe
        place = self.place_names.get(self.probe_places.get(warning.probe, ""))
        return f"Probe {name} ({place})" if place else f"Probe {name}"


def load_known(connection: Connection, now: datetime, facts: Facts | None = None) -> Known:
    """What the records tell at a time; whoever has read the facts hands them on."""
    facts = load_facts(connection) if facts is None else facts
    named = select(tables.probe_setting.c.probe, tables.probe_setting.c.name).where(tables.probe_setting.c.name != "")
    rows = connection.execute(
        select(tables.setting.c.key, tables.setting.c.value).where(tables.setting.c.key.startswith(STANDS_IN))
    )
    return Known(
        household=load_household(connection),
        place_names={place.id: place.name for place in facts.places.values()},
        probe_names={row.probe: row.name for row in connection.execute(named)},
        probe_places=probe_places(facts, now),
        stands_in={key.removeprefix(STANDS_IN): str(value) for key, value in rows},
    )


def probe_places(facts: Facts, now: datetime) -> dict[str, str]:
    """Where each probe is; one whose fields are in several places counts for the first of them."""
    found: dict[str, str] = {}
    for probe, name in sorted(facts.placements, key=lambda key: (key[0], key[1] or "")):
        placed = facts.placement_at(probe, name or "", now)
        if placed is not None and placed.place_id is not None:
            found.setdefault(probe, placed.place_id)
    return found
