"""When a person is away and who is on duty meanwhile: one plan at a time, in the records; its days are the household's.

Access that was given from one day to another ends here too: sign-ins, links and the phone's notifications with it.
"""

from dataclasses import asdict, dataclass
from datetime import date, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from sqlalchemy import ColumnElement, Connection, and_, delete, exists, or_, select

from collector.notify.channels import remove_channel
from collector.records.tables import notify_channel, person, session, setting, sign_in_link

AWAY_KEY = "notify.away"
EVENING_MIN = 20 * 60  # our choice: the day's work is over, and there is still time to call
MINUTES_A_DAY = 1_440


@dataclass(frozen=True, slots=True)
class Away:
    """A person's days away.

    Args:
        from_on, to_on: the first and the last day, in the household's zone.
        person_id: who is on duty. away_id: who is away, and told next.
        evening_min: when the line of the day is written, in minutes after local midnight.
        call: whom to call, in the person's own words. words: what else to know.
    """

    from_on: date
    to_on: date
    person_id: str
    away_id: str
    evening_min: int = EVENING_MIN
    call: str = ""
    words: str = ""

    def from_at(self, zone: ZoneInfo) -> datetime:
        """The beginning of the first day."""
        return datetime.combine(self.from_on, time(), zone)

    def to_at(self, zone: ZoneInfo) -> datetime:
        """The end of the last day."""
        return datetime.combine(self.to_on + timedelta(days=1), time(), zone)

    def holds(self, at: datetime, zone: ZoneInfo) -> bool:
        """Whether a time lies in these days."""
        return self.from_at(zone) <= at < self.to_at(zone)

    def evening_at(self, day: date, zone: ZoneInfo) -> datetime:
        """When the line of a day is due."""
        return datetime.combine(day, time(self.evening_min // 60, self.evening_min % 60), zone)

    def order(self, usual: tuple[str, ...]) -> tuple[str, ...]:
        """Who is told first, and who next: the one on duty, who is away, then the others of the usual order."""
        return tuple(dict.fromkeys(one for one in (self.person_id, self.away_id, *usual) if one))


def load_away(connection: Connection) -> Away | None:
    """The plan, also one that is to come or over; None without one that can be read."""
    value = connection.execute(select(setting.c.value).where(setting.c.key == AWAY_KEY)).scalar()
    try:
        return _away(value) if isinstance(value, dict) else None
    except (KeyError, TypeError, ValueError):
        return None


def _away(value: dict[str, Any]) -> Away:
    minute = int(value["evening_min"])
    if not 0 <= minute < MINUTES_A_DAY:
        raise ValueError(f"evening_min must be at least 0 and below {MINUTES_A_DAY}, got {minute}")
    return Away(
        date.fromisoformat(value["from_on"]), date.fromisoformat(value["to_on"]), str(value["person_id"]),
        str(value["away_id"]), minute, str(value["call"]), str(value["words"]),
    )  # fmt: skip


def keep_away(connection: Connection, away: Away | None) -> None:
    """Keep the plan in place of the one before, or none."""
    connection.execute(delete(setting).where(setting.c.key == AWAY_KEY))
    if away is not None:
        value = asdict(away) | {"from_on": away.from_on.isoformat(), "to_on": away.to_on.isoformat()}
        connection.execute(setting.insert().values(key=AWAY_KEY, value=value))


def access_is_over(now: datetime) -> ColumnElement[bool]:
    """Of people whose access has ended and who still have a sign-in, a link or a way to be told."""
    left = (
        exists().where(session.c.person_id == person.c.id),
        exists().where(sign_in_link.c.person_id == person.c.id),
        exists().where(notify_channel.c.person_id == person.c.id, notify_channel.c.removed_at.is_(None)),
    )
    return and_(person.c.to_at <= now, or_(*left))


def end_access(connection: Connection, now: datetime) -> int:
    """Take from people whose access has ended what they still hold; returns how many they were."""
    gone = list(connection.execute(select(person.c.id).where(access_is_over(now))).scalars())
    for person_id in gone:
        connection.execute(delete(session).where(session.c.person_id == person_id))
        connection.execute(delete(sign_in_link).where(sign_in_link.c.person_id == person_id))
        own = select(notify_channel.c.id).where(
            notify_channel.c.person_id == person_id, notify_channel.c.removed_at.is_(None)
        )
        for channel_id in connection.execute(own).scalars().all():
            remove_channel(connection, channel_id, "the access of its person has ended", now)
    return len(gone)
