"""A small program that opens, ends and sends warnings, and ends itself by SIGKILL where it is told to.

Run as: python -m tests.faults.outbox_program RECORDS STEP
"""

import os
import signal
import sys
import time
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from itertools import count

from sqlalchemy import Engine, func, select

from collector.clock import ManualClock
from collector.errors import WarningNotSent
from collector.notify.channels import ChannelRow
from collector.notify.child import ChildChannel
from collector.notify.delivery import deliver, waiting
from collector.notify.message import Channel, Message
from collector.notify.outbox import enqueue
from collector.notify.outbox_rows import WAITS
from collector.notify.webhook import Webhook
from collector.records.columns import to_ms
from collector.records.engine import open_records
from collector.records.tables import outbox, warning
from collector.records.warnings import Subject, reconcile
from collector.rules.model import Verdict

OPENED_AT = datetime(2026, 3, 12, 12, 0, tzinfo=UTC)
SPAN = (to_ms(OPENED_AT) - 1, to_ms(OPENED_AT) + 3_600_000)


def die() -> None:
    os.kill(os.getpid(), signal.SIGKILL)


class DiesBefore:
    """A channel whose process ends before a byte has left."""

    def __init__(self, _inner: Channel) -> None:
        pass

    def send(self, _message: Message) -> None:
        die()


class DiesAfter:
    """A channel whose process ends once the other side has answered, before anybody can write that down."""

    def __init__(self, inner: Channel) -> None:
        self._inner = inner

    def send(self, message: Message) -> None:
        self._inner.send(message)
        die()


def child(row: ChannelRow) -> Channel:
    return ChildChannel(row.kind, row.name, row.options)


def open_one(records: Engine, step: str) -> None:
    """Find a warning once, as the watch does: in one transaction with its message."""
    with records.begin() as connection:
        if connection.execute(select(func.count()).select_from(warning)).scalar():
            return
        verdict = Verdict("too_warm", to_ms(OPENED_AT), None, {"since_ms": to_ms(OPENED_AT)})
        found = reconcile(connection, "too_warm", "warn", Subject("lower"), SPAN, [verdict], OPENED_AT, 7_200_000)
        enqueue(connection, [found], OPENED_AT)
        if step == "opening":
            die()
    if step == "opened":
        die()


def finish(records: Engine) -> None:
    """Go on until nothing waits, with a clock that runs to each next try."""
    with records.connect() as connection:
        before = connection.execute(select(func.max(outbox.c.created_at))).scalar()
    clock = ManualClock(before or OPENED_AT)
    for _ in range(50):
        with records.connect() as connection:
            if not waiting(connection):
                return
            next_at = connection.execute(select(func.min(outbox.c.next_at)).where(outbox.c.sent_at.is_(None))).scalar()
        clock.set(max(clock.now(), next_at or clock.now()) + timedelta(seconds=1))
        if not deliver(records, child, clock).sent:
            clock.advance(timedelta(hours=1))  # what an hour or a day may carry is used up
    with records.connect() as connection:
        left = connection.execute(select(outbox.c.id, outbox.c.attempts, outbox.c.trouble).where(WAITS)).all()
    sys.exit(f"after 50 tries there still wait {left}")


def storm(records: Engine) -> None:
    """Open and end warnings and send them, as fast as it goes, until killed."""
    with records.connect() as connection:
        before = connection.execute(select(func.max(outbox.c.created_at))).scalar()
    clock = ManualClock(before or OPENED_AT)
    for number in count():
        clock.advance(timedelta(minutes=30))  # so that no channel is ever asked to carry too much
        with records.begin() as connection:
            now = clock.now()
            subject = Subject(probe=f"probe-{os.getpid()}-{number}")
            verdict = Verdict("stuck", to_ms(now), None, {})
            span = (to_ms(now) - 1, to_ms(now) + 1)
            enqueue(connection, [reconcile(connection, "stuck", "urgent", subject, span, [verdict], now, 10**9)], now)
        deliver(records, lambda row: Quick(row), clock)


class Quick:
    """In this very process, so that a kill hits it anywhere on its way."""

    def __init__(self, row: ChannelRow) -> None:
        self._inner = Webhook(row.name, row.options)

    def send(self, message: Message) -> None:
        try:
            self._inner.send(message)
        except WarningNotSent:
            time.sleep(0.01)
            raise


def main() -> None:
    path, step = sys.argv[1:3]
    records = open_records(f"sqlite:///{path}")
    if step == "storm":
        storm(records)
    open_one(records, step)
    wrappers: dict[str, Callable[[Channel], Channel]] = {"claimed": DiesBefore, "answered": DiesAfter}
    if step in wrappers:
        deliver(records, lambda row: wrappers[step](child(row)), ManualClock(OPENED_AT + timedelta(minutes=11)))
    finish(records)
    if step == "sent":
        die()


if __name__ == "__main__":
    main()
