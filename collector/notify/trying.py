"""Sending a test, and what a page shows of the ways out."""

from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy import Connection, Engine, select

from collector.clock import Clock
from collector.errors import WarningNotSent
from collector.notify.channels import ChannelRow, channel, note_failed, note_worked, remove_channel
from collector.notify.delivery import Make
from collector.notify.known import load_known
from collector.notify.message import Message
from collector.records.columns import new_id
from collector.records.engine import reading
from collector.records.tables import outbox

SHOWN_FOR = timedelta(days=14)


@dataclass(frozen=True, slots=True)
class Tried:
    """How a test went; `reason` says what went wrong, "" when nothing did."""

    worked: bool
    reason: str = ""


def send_test(records: Engine, channel_id: str, make: Make, clock: Clock) -> Tried:
    """Send a test on one channel at once, and keep how it went for the page.

    Raises:
        ValueError: no such channel.
    """
    with reading(records) as connection:
        row = channel(connection, channel_id)
        base = load_known(connection, clock.now()).household.base_address
    if row is None or row.removed_at is not None:
        raise ValueError(f"there is no channel {channel_id}")
    try:
        make(row).send(_test_message(row, base, clock.now()))
    except WarningNotSent as error:
        with records.begin() as connection:
            if error.gone:
                remove_channel(connection, row.id, error.reason, clock.now())
            else:
                note_failed(connection, row.id, error.reason, clock.now())
        return Tried(False, error.reason)
    with records.begin() as connection:
        note_worked(connection, row.id, clock.now())
    return Tried(True)


def _test_message(row: ChannelRow, base_address: str, now: datetime) -> Message:
    base = base_address or str(row.options.get("origin", ""))
    return Message(
        id=new_id(),
        kind="test",
        severity="note",
        title="rindwatch: this is a test",
        body="Warnings will come here. Nothing is wrong, and nothing needs doing.",
        created_at=now,
        link=f"{base}/warnings" if base else "",
    )


@dataclass(frozen=True, slots=True)
class Undelivered:
    """A message that no try within a day could deliver."""

    channel_id: str
    title: str
    created_at: datetime
    given_up_at: datetime
    reason: str


def undelivered(connection: Connection, now: datetime) -> list[Undelivered]:
    """What could not be delivered in the last fortnight, newest first."""
    query = select(outbox).where(outbox.c.given_up_at > now - SHOWN_FOR).order_by(outbox.c.given_up_at.desc())
    return [
        Undelivered(row.channel, row.title, row.created_at, row.given_up_at, row.trouble)
        for row in connection.execute(query)
    ]
