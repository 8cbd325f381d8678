"""The line of the day to who is away: written into the outbox once a day, by a mark in the same commit."""

from datetime import date, datetime, timedelta

from sqlalchemy import Connection, insert

from collector.notify.away import Away, load_away
from collector.notify.channels import ChannelRow, channels
from collector.notify.household import load_household
from collector.notify.kinds import KINDS
from collector.notify.wishes import keep_setting, setting_value
from collector.notify.words import Words
from collector.records.columns import new_id
from collector.records.tables import outbox

TOLD_KEY = "notify.evening_told"
LATEST = timedelta(hours=12)  # our choice: after a night without power the line still comes, a day later it is stale


def due_evening(connection: Connection, now: datetime) -> tuple[Away, date] | None:
    """The plan and the day whose line is due and was not written yet; None when none is."""
    away = load_away(connection)
    if away is None:
        return None
    zone = load_household(connection).zone
    today = now.astimezone(zone).date()
    for day in (today, today - timedelta(days=1)):
        due_at = away.evening_at(day, zone)
        if away.from_on <= day <= away.to_on and due_at <= now < due_at + LATEST:
            return None if _is_told(connection, day) else (away, day)
    return None


def _is_told(connection: Connection, day: date) -> bool:
    told = setting_value(connection, TOLD_KEY)
    return isinstance(told, str) and told >= day.isoformat()


def tell_evening(connection: Connection, away: Away, day: date, words: Words, now: datetime) -> int:
    """Write the line of a day for who is away, inside the caller's transaction; returns to how many ways it goes."""
    ways = ways_to(connection, away.away_id)
    for way in ways:
        row = {
            "id": new_id(), "kind": "evening", "channel": way.id, "title": words.title[:90], "body": words.body[:1_500],
            "path": "/away", "created_at": now, "next_at": now, "severity": "note",
        }  # fmt: skip
        connection.execute(insert(outbox).values(**row))
    keep_setting(connection, TOLD_KEY, day.isoformat())
    return len(ways)


def ways_to(connection: Connection, person_id: str) -> list[ChannelRow]:
    """The ways on which a person is told; those of the whole house for somebody without one."""
    open_ways = [
        row for row in channels(connection) if row.is_on and KINDS[row.kind].takes_warnings and row.tells_people
    ]
    own = [row for row in open_ways if row.person_id == person_id]
    return own or [row for row in open_ways if row.person_id is None]
