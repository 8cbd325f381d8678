"""What people chose of a probe that has no date: its name, its promise, where its time stands, put away or not."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, insert, select, update

from collector.records.tables import probe_setting


@dataclass(frozen=True, slots=True)
class Choice:
    """The choices of one probe; `time_form` is s, ms, rfc3339 or "" for a guess."""

    probe: str
    name: str = ""
    at_latest_every_s: float | None = None
    time_pointer: str = ""
    time_form: str = ""
    dismissed_at: datetime | None = None


COLUMNS = tuple(probe_setting.c[name] for name in Choice.__dataclass_fields__)


def choices(db: Connection) -> dict[str, Choice]:
    return {row.probe: Choice(**row._mapping) for row in db.execute(select(*COLUMNS))}


def choice(db: Connection, probe: str) -> Choice:
    """A probe's choices; one that nobody chose anything of has none."""
    row = db.execute(select(*COLUMNS).where(probe_setting.c.probe == probe)).first()
    return Choice(probe) if row is None else Choice(**row._mapping)


def choose(db: Connection, probe: str, **values: Any) -> None:
    """Keep choices of a probe beside those that there are."""
    own = update(probe_setting).where(probe_setting.c.probe == probe)
    if db.execute(own.values(**values)).rowcount == 0:
        db.execute(insert(probe_setting), [{"probe": probe, **values}])
