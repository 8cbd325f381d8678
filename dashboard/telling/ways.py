"""The ways on which warnings leave, as the page shows them: how the last try went, never an address or a secret."""

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection, select

from collector.notify.channels import FROM_FILE, ChannelRow, channels
from collector.notify.kinds import KINDS
from collector.notify.trying import Undelivered, undelivered
from collector.records.tables import notify_channel, person

LEAST = {"warn": "every warning", "urgent": "only urgent ones"}


@dataclass(frozen=True, slots=True)
class Way:
    """One channel.

    Args:
        state: of parts/cards.html; whose: a person's name, "" for the house. takes: from which warnings on.
        leaves_house: what goes out. from_file: named by the settings' file, and removed there.
    """

    id: str
    kind: str
    name: str
    word: str
    state: str
    is_on: bool
    worked_at: datetime | None
    failing_since_at: datetime | None
    trouble: str
    whose: str
    takes: str
    leaves_house: str
    from_file: bool


@dataclass(frozen=True, slots=True)
class Missed:
    """A message that could not be delivered within a day."""

    way: str
    title: str
    created_at: datetime
    trouble: str


def ways(db: Connection) -> tuple[Way, ...]:
    """All channels in use, in the order in which they were added."""
    names = people(db)
    return tuple(_way(row, names) for row in channels(db))


def _way(row: ChannelRow, names: dict[str, str]) -> Way:
    kind = KINDS[row.kind]
    return Way(
        row.id, row.kind, row.name, kind.word, state_of(row), row.is_on, row.worked_at, row.failing_since_at,
        row.trouble, names.get(row.person_id or "", ""), LEAST.get(row.least, "") if kind.takes_warnings else "",
        kind.leaves_house, bool(row.options.get(FROM_FILE)),
    )  # fmt: skip


def state_of(row: ChannelRow) -> str:
    """How it is, as a state of parts/cards.html."""
    if not row.is_on:
        return "unknown"
    if row.failing_since_at is not None:
        return "bad"
    return "good" if row.worked_at is not None else "unknown"


def people(db: Connection) -> dict[str, str]:
    """Names of the people by id, in order of name."""
    rows = db.execute(select(person.c.id, person.c.name).order_by(person.c.name))
    return {str(row.id): str(row.name) for row in rows}


def missed(db: Connection, now_at: datetime) -> tuple[Missed, ...]:
    """What no try within a day could deliver, newest first."""
    names = {str(row.id): str(row.name) for row in db.execute(select(notify_channel.c.id, notify_channel.c.name))}
    return tuple(_missed(one, names) for one in undelivered(db, now_at))


def _missed(one: Undelivered, names: dict[str, str]) -> Missed:
    return Missed(names.get(one.channel_id, "a way that is gone"), one.title, one.created_at, one.reason)
