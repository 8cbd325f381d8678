"""Chooses what goes next on a channel: nothing that is held or too much, several as one, and never half a message."""

from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import Connection, Row, and_, func, insert, select, update

from collector.notify.channels import SEVERITIES, ChannelRow, channel
from collector.notify.holding import free_at, held_until
from collector.notify.known import Known, load_known
from collector.notify.message import Message
from collector.notify.outbox_rows import DAY, WAITS, parts_of, problems, word_row
from collector.notify.wishes import wishes_of
from collector.records.columns import new_id
from collector.records.tables import outbox, outbox_part

AGAIN_S = (30, 60, 120, 300, 600, 1_800, 3_600)  # waits after each failed try, then the last: our choice
GATHER_FROM = 3  # so many messages due at once on one channel become one: our choice


def again_s(attempts: int) -> int:
    """How long to wait after so many tries, at least 1 [s]."""
    return AGAIN_S[min(attempts, len(AGAIN_S)) - 1]


def claim(connection: Connection, row: ChannelRow, now: datetime) -> Message | None:
    """Choose the next message of a channel, freeze it, and count the try; None when none may go now."""
    current = channel(connection, row.id)
    if current is None or current.removed_at is not None:
        return None
    known = load_known(connection, now)
    while True:
        chosen = _choose(connection, row, known, now)
        if chosen is None:
            return None
        if chosen.attempts == 0 and chosen.kind != "evening" and not word_row(connection, chosen.id, known, now):
            continue
        again_at = now + timedelta(seconds=again_s(chosen.attempts + 1))
        own = update(outbox).where(outbox.c.id == chosen.id)
        connection.execute(own.values(attempts=outbox.c.attempts + 1, next_at=again_at))
        return _message(connection, chosen.id, row, known)


def _choose(connection: Connection, row: ChannelRow, known: Known, now: datetime) -> Row[Any] | None:
    query = select(outbox).where(WAITS, outbox.c.channel == row.id, outbox.c.next_at <= now)
    due = list(connection.execute(query.order_by(outbox.c.created_at, outbox.c.id)).all())
    if row.tells_people:
        due = _not_behind_another(connection, row, now, due)
        due = _not_held(connection, row, known, now, due)
        due = _affordable(connection, row, now, due)
    tried = [one for one in due if one.attempts > 0]
    if tried or not due:
        return tried[0] if tried else None
    # The line of the day speaks of no warning, and stays a message of its own.
    of_warnings = [one for one in due if one.kind != "evening"]
    if row.tells_people and len(of_warnings) >= GATHER_FROM:
        return _gathered(connection, of_warnings, now)
    return due[0]


def _not_behind_another(
    connection: Connection, row: ChannelRow, now: datetime, due: Sequence[Row[Any]]
) -> list[Row[Any]]:
    """On a channel that fails only one message is tried again and again; the rest can still be merged meanwhile."""
    current = channel(connection, row.id)
    if current is None or current.failing_since_at is None:
        return list(due)
    tried = and_(WAITS, outbox.c.channel == row.id, outbox.c.attempts > 0, outbox.c.next_at > now)
    until = connection.execute(select(func.min(outbox.c.next_at)).where(tried)).scalar()
    waits = [one.id for one in due if until is not None and one.attempts == 0 and one.severity != "urgent"]
    connection.execute(update(outbox).where(outbox.c.id.in_(waits)).values(next_at=until))
    return [one for one in due if one.id not in waits]


def _not_held(
    connection: Connection, row: ChannelRow, known: Known, now: datetime, due: Sequence[Row[Any]]
) -> list[Row[Any]]:
    """Without what waits for the end of quiet hours or of a snooze; its next time is put off to then."""
    wishes = wishes_of(connection, row.person_id, now)
    free = []
    for one in due:
        about = [part.warning for part in parts_of(connection, one.id)]
        until = held_until(one.severity, about, wishes, known.household.zone, now)
        if until is None:
            free.append(one)
        else:
            connection.execute(update(outbox).where(outbox.c.id == one.id).values(next_at=until))
    return free


def _affordable(connection: Connection, row: ChannelRow, now: datetime, due: Sequence[Row[Any]]) -> list[Row[Any]]:
    """Without what is beyond the number of messages promised; it waits until one more may go."""
    query = select(outbox.c.sent_at).where(outbox.c.channel == row.id, outbox.c.sent_at > now - DAY)
    sent_at = list(connection.execute(query).scalars())
    free = {one.id: free_at(sent_at, one.severity, now) for one in due}
    may_go = [one for one in due if free[one.id] <= now]
    if may_go and len(due) >= GATHER_FROM:
        return list(due)  # they go as one
    for one in due:
        if one not in may_go:
            connection.execute(update(outbox).where(outbox.c.id == one.id).values(next_at=free[one.id]))
    return may_go


def _gathered(connection: Connection, due: Sequence[Row[Any]], now: datetime) -> Row[Any]:
    """Several messages as one; what each spoke of is kept with it."""
    row_id = new_id()
    values = {
        "id": row_id, "warning_id": due[0].warning_id, "kind": "several", "channel": due[0].channel, "title": "",
        "body": "", "path": "/warnings", "created_at": now, "next_at": now, "group_key": "",
        "severity": max((one.severity for one in due), key=SEVERITIES.index),
    }  # fmt: skip
    connection.execute(insert(outbox).values(**values))
    ids = [one.id for one in due]
    parts = select(outbox_part.c.warning_id, outbox_part.c.said).where(outbox_part.c.outbox_id.in_(ids)).distinct()
    for warning_id, said in connection.execute(parts).all():
        connection.execute(insert(outbox_part).values(outbox_id=row_id, warning_id=warning_id, said=said))
    connection.execute(update(outbox).where(outbox.c.id.in_(ids)).values(dropped_at=now, trouble="told with others"))
    return connection.execute(select(outbox).where(outbox.c.id == row_id)).one()


def _message(connection: Connection, row_id: str, row: ChannelRow, known: Known) -> Message:
    one = connection.execute(select(outbox).where(outbox.c.id == row_id)).one()
    base = known.household.base_address or str(row.options.get("origin", ""))
    return Message(
        id=one.id,
        kind={"again": "opened"}.get(one.kind, one.kind),
        severity=one.severity,
        title=one.title,
        body=one.body,
        created_at=one.created_at,
        link=f"{base}{one.path}" if base else "",
        thread=one.thread,
        problems=tuple(problems(parts_of(connection, row_id), known)),
    )
