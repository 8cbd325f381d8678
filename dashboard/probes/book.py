"""All that is known of the probes, gathered once for a page."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection, func, select

from collector.air.channel import TYPED_PREFIX
from collector.readings.model import Channel, ProbeSeen
from collector.readings.reader import Readings
from collector.records.facts import Facts, Placement
from collector.records.places import load_facts
from collector.records.tables import fact_change
from collector.records.warnings import CaveWarning, warnings
from dashboard.probes.choices import Choice, choices


@dataclass(frozen=True, slots=True)
class Book:
    """The probes that were ever heard, with what people settled and what is wrong with them.

    Args:
        seen: every probe, by name. channels: its fields, by probe. faults: open warnings, by probe.
        settled: grows with each dated fact, for tags.
    """

    seen: Mapping[str, ProbeSeen]
    channels: Mapping[str, Sequence[Channel]]
    facts: Facts
    choices: Mapping[str, Choice]
    faults: Mapping[str, Sequence[CaveWarning]]
    settled: int

    def called(self, probe: str) -> str:
        """What people call a probe."""
        chosen = self.choices.get(probe)
        return chosen.name if chosen and chosen.name else probe.rpartition("/")[2] if is_typed(probe) else probe

    def choice(self, probe: str) -> Choice:
        return self.choices.get(probe) or Choice(probe)

    def placement(self, probe: str, at: datetime) -> Placement | None:
        """Where a probe is: as a whole, or else the first of its fields that has a place of its own."""
        fields = ["", *(channel.field for channel in self.channels.get(probe, ()))]
        found = [one for field in fields if (one := self.facts.placement_at(probe, field, at)) is not None]
        return next((one for one in found if one.place_id is not None), found[0] if found else None)

    def was_ever_placed(self, probe: str) -> bool:
        return any(name == probe for name, _ in self.facts.placements)

    def tag(self) -> tuple[object, ...]:
        """Changes whenever something of this does."""
        return (tuple(self.seen.values()), tuple(self.choices.values()), tuple(self.faults.items()), self.settled)


def is_typed(probe: str) -> bool:
    """Whether a probe is a person with an instrument."""
    return probe.startswith(TYPED_PREFIX)


def load(db: Connection, readings: Readings | None) -> Book:
    """Everything, from both databases; without readings nobody was heard yet."""
    by_probe: dict[str, list[Channel]] = {}
    for channel in readings.channels() if readings else ():
        by_probe.setdefault(channel.probe, []).append(channel)
    faults: dict[str, list[CaveWarning]] = {}
    for warning in warnings(db, only_open=True):
        if warning.probe is not None:
            faults.setdefault(warning.probe, []).append(warning)
    return Book(
        seen={probe.name: probe for probe in (readings.probes() if readings else ())},
        channels=by_probe,
        facts=load_facts(db),
        choices=choices(db),
        faults=faults,
        settled=int(db.execute(select(func.max(fact_change.c.seq))).scalar() or 0),
    )
