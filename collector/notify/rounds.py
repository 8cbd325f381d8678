"""What comes due by the clock alone: snoozes that end, access that ends, and warnings that nobody has looked at."""

from datetime import datetime, timedelta

from sqlalchemy import ColumnElement, Connection, Engine, and_, or_, select, update

from collector.notify.away import access_is_over, end_access
from collector.notify.channels import ChannelRow, channels
from collector.notify.holding import Snooze, next_in_line
from collector.notify.outbox import Desk
from collector.notify.outbox_rows import TOLD
from collector.notify.wishes import duty_order
from collector.records.engine import reading
from collector.records.tables import outbox, outbox_part, person, snooze
from collector.records.warnings import CaveWarning, warnings

LOOKED_BACK = timedelta(days=2)  # a warning unseen for longer has gone round everybody long ago


def go_round(records: Engine, now: datetime) -> None:
    """Remind of what is still open when its snooze ends, and pass on what nobody has seen to the next on duty."""
    with reading(records) as connection:
        ended = connection.execute(select(snooze.c.id).where(_ended(now)).limit(1)).first() is not None
        on_duty = len(duty_order(connection, now)) > 1
        over = connection.execute(select(person.c.id).where(access_is_over(now)).limit(1)).first() is not None
    if not ended and not on_duty and not over:
        return
    with records.begin() as connection:
        if over:
            end_access(connection, now)
        desk = Desk(connection, now)
        if ended:
            _remind(connection, desk, now)
        if on_duty:
            _pass_on(connection, desk, now)
        desk.put_into_words()


def _ended(now: datetime) -> ColumnElement[bool]:
    return and_(snooze.c.until_at <= now, snooze.c.ended_at.is_(None))


def _remind(connection: Connection, desk: Desk, now: datetime) -> None:
    rows = connection.execute(select(snooze).where(_ended(now))).all()
    connection.execute(update(snooze).where(snooze.c.id.in_([row.id for row in rows])).values(ended_at=now))
    still_open, ways = warnings(connection, only_open=True), channels(connection)
    for row in rows:
        over = Snooze(row.until_at, row.rule, row.place_id, row.probe, row.person_id)
        for about in still_open:
            for way in ways:
                concerned = way.tells_people and way.takes(about.severity) and over.covers(about, way.person_id)
                if concerned and not _waits(connection, way, about):
                    desk.remind(about, way)


def _waits(connection: Connection, way: ChannelRow, about: CaveWarning) -> bool:
    """Whether a message on that warning waits on that channel anyway."""
    own = and_(outbox.c.channel == way.id, outbox_part.c.warning_id == about.id, outbox_part.c.said != "cleared")
    query = select(outbox.c.id).join(outbox_part, outbox_part.c.outbox_id == outbox.c.id).where(own)
    gone = or_(outbox.c.sent_at.is_not(None), outbox.c.dropped_at.is_not(None), outbox.c.given_up_at.is_not(None))
    return connection.execute(query.where(~gone)).first() is not None


def _pass_on(connection: Connection, desk: Desk, now: datetime) -> None:
    ways = channels(connection)
    order = [one for one in duty_order(connection, now) if any(way.person_id == one for way in ways)]
    for about in warnings(connection, only_open=True, since=now - LOOKED_BACK):
        if about.opened_at < now - LOOKED_BACK or about.severity == "note":
            continue
        following = next_in_line(order, _told_at(connection, ways, about), about.seen_at, now)
        if following is not None:
            desk.opened(about, [way for way in ways if way.person_id == following and way.takes(about.severity)])


def _told_at(connection: Connection, ways: list[ChannelRow], about: CaveWarning) -> dict[str, datetime]:
    """When each person was told of a warning; somebody for whom it waits counts as told when it was written."""
    person_of = {way.id: way.person_id for way in ways if way.person_id is not None}
    query = select(outbox.c.channel, outbox.c.sent_at, outbox.c.created_at).join(
        outbox_part, outbox_part.c.outbox_id == outbox.c.id
    )
    alive = or_(TOLD, and_(outbox.c.dropped_at.is_(None), outbox.c.given_up_at.is_(None)))
    rows = connection.execute(query.where(outbox_part.c.warning_id == about.id, alive))
    told: dict[str, datetime] = {}
    for row in rows:
        person = person_of.get(row.channel)
        if person is not None:
            told[person] = max(told.get(person, row.created_at), row.sent_at or row.created_at)
    return told
