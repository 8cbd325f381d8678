"""Sends what is due: at least once, and twice only when killed between the other side's answer and our commit.

A message is claimed and committed before its network call, and its fate is committed after; no transaction is open
while a call runs. What did not go is tried again with growing waits, across restarts, and given up after a day.
"""

import logging
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import partial

from sqlalchemy import Connection, Engine, and_, func, or_, select, update
from sqlalchemy.exc import OperationalError
from tenacity import retry, retry_if_exception_type, stop_after_delay, wait_fixed

from collector.clock import Clock
from collector.errors import WarningNotSent
from collector.notify.channels import ChannelRow, channels, note_failed, note_worked, remove_channel
from collector.notify.choosing import again_s, claim
from collector.notify.message import Channel, Message
from collector.notify.outbox_rows import DAY, WAITS
from collector.records.engine import reading
from collector.records.tables import outbox

log = logging.getLogger(__name__)

AHEAD = timedelta(minutes=1)
SIDE_BY_SIDE = 4  # channels at once, so that one that hangs does not hold up the others

Make = Callable[[ChannelRow], Channel]


@dataclass(frozen=True, slots=True)
class Delivered:
    """How many messages went, and how many tries failed."""

    sent: int = 0
    failed: int = 0


def deliver(records: Engine, make: Make, clock: Clock) -> Delivered:
    """Send everything that is due now, on every channel.

    Args:
        make: makes a channel of its row, `collector.notify.making.Maker` outside tests.
    """
    now = clock.now()
    ahead = outbox.c.created_at > now + AHEAD
    with reading(records) as connection:
        is_due = and_(WAITS, or_(outbox.c.next_at <= now, ahead))
        due = set(connection.execute(select(outbox.c.channel).where(is_due)).scalars())
    if not due:
        return Delivered()
    with records.begin() as connection:
        # Written before our clock was set back: it must not wait until the clock has come there again.
        connection.execute(update(outbox).where(WAITS, ahead).values(created_at=now, next_at=now))
        _give_up(connection, now)
        rows = [row for row in channels(connection) if row.id in due and row.is_on]
        _drop_orphans(connection, due - {row.id for row in rows}, now)
    with ThreadPoolExecutor(SIDE_BY_SIDE, thread_name_prefix="sending") as pool:
        found = list(pool.map(lambda row: _deliver_on(records, row, make, clock), rows))
    return Delivered(sum(one.sent for one in found), sum(one.failed for one in found))


def _give_up(connection: Connection, now: datetime) -> None:
    """What a channel has not taken for a day is no news any more; it is shown as not delivered."""
    failing = [
        row.id for row in channels(connection) if row.failing_since_at is not None and row.failing_since_at <= now - DAY
    ]
    old = and_(WAITS, outbox.c.channel.in_(failing), outbox.c.created_at <= now - DAY, outbox.c.next_at <= now)
    connection.execute(update(outbox).where(old).values(given_up_at=now))


def _drop_orphans(connection: Connection, channel_ids: set[str], now: datetime) -> None:
    """What waits for a channel that was switched off or removed."""
    own = and_(WAITS, outbox.c.channel.in_(channel_ids))
    connection.execute(update(outbox).where(own).values(dropped_at=now, trouble="the channel is off"))


def _deliver_on(records: Engine, row: ChannelRow, make: Make, clock: Clock) -> Delivered:
    sent = 0
    while True:
        with records.begin() as connection:
            message = claim(connection, row, clock.now())
        if message is None:
            return Delivered(sent)
        try:
            make(row).send(message)
        except WarningNotSent as error:
            log.warning("message_not_sent channel=%s kind=%s reason=%s", row.id, row.kind, error.reason)
            _write_down(records, partial(_note_failure, row=row, message=message, error=error, now=clock.now()))
            return Delivered(sent, 1)
        _write_down(records, partial(_note_sent, row=row, message=message, now=clock.now()))
        sent += 1


@retry(retry=retry_if_exception_type(OperationalError), stop=stop_after_delay(60), wait=wait_fixed(0.5), reraise=True)
def _write_down(records: Engine, note: Callable[[Connection], None]) -> None:
    """The fate of a message that went is worth some patience with who holds the records: else it would go twice."""
    with records.begin() as connection:
        note(connection)


def _note_sent(connection: Connection, row: ChannelRow, message: Message, now: datetime) -> None:
    connection.execute(update(outbox).where(outbox.c.id == message.id).values(sent_at=now, trouble=""))
    note_worked(connection, row.id, now)


def _note_failure(
    connection: Connection, row: ChannelRow, message: Message, error: WarningNotSent, now: datetime
) -> None:
    own = update(outbox).where(outbox.c.id == message.id)
    if error.gone:
        connection.execute(own.values(given_up_at=now, trouble=error.reason))
        remove_channel(connection, row.id, error.reason, now)
        return
    note_failed(connection, row.id, error.reason, now)
    if not error.retry:
        connection.execute(own.values(given_up_at=now, trouble=error.reason))
        return
    attempts = connection.execute(select(outbox.c.attempts).where(outbox.c.id == message.id)).scalar() or 1
    again_at = now + timedelta(seconds=max(error.wait_s or 0, again_s(attempts)))
    connection.execute(own.values(next_at=again_at, trouble=error.reason))
    # The others on this channel wait with it, untried, so that they can still be merged.
    others = and_(WAITS, outbox.c.channel == row.id, outbox.c.next_at < again_at)
    connection.execute(update(outbox).where(others).values(next_at=again_at))


def waiting(connection: Connection) -> int:
    """How many messages wait to be sent."""
    return int(connection.execute(select(func.count()).select_from(outbox).where(WAITS)).scalar() or 0)
