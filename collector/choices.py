"""What people chose that matters on the way in, kept at hand for the intake and refreshed from the records."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from sqlalchemy import Engine, select

from collector.intake.payloads import FieldHints
from collector.records import tables
from collector.records.engine import reading


@dataclass(frozen=True, slots=True)
class Picked:
    """Topic filters beside our own, and where to find the time in a probe's messages, by topic."""

    filters: tuple[str, ...] = ()
    hints: Mapping[str, FieldHints] | None = None


class RecordChoices:
    """The choices as last read; swapped as a whole, so the intake's thread never sees half of them."""

    def __init__(self) -> None:
        self._picked = Picked()

    @property
    def filters(self) -> Sequence[str]:
        return self._picked.filters

    @property
    def hints(self) -> Mapping[str, FieldHints]:
        return self._picked.hints or {}

    def refresh(self, records: Engine) -> None:
        chosen = tables.probe_setting
        with reading(records) as connection:
            filters = connection.execute(select(tables.topic_filter.c.filter)).scalars().all()
            rows = connection.execute(
                select(chosen.c.probe, chosen.c.time_pointer, chosen.c.time_form).where(chosen.c.time_pointer != "")
            ).all()
        hints: dict[str, FieldHints] = {}
        for row in rows:
            for topic in topics_of(row.probe):
                hints[topic] = FieldHints(time_pointer=row.time_pointer, time_form=row.time_form or None)
        self._picked = Picked(tuple(filters), hints)


def topics_of(probe: str) -> tuple[str, ...]:
    """The topics that a probe's own messages may come on: its name, for other people's devices, or one of ours."""
    return (probe,) if "/" in probe else (probe, f"rindwatch/{probe}/readings")
