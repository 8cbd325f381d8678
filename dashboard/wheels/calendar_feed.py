"""The calendar that phones subscribe to (RFC 5545), behind an address that nobody can guess.

A feed that has nothing new is the same to the byte: names, stamps and sequence numbers come from the book, never from
the clock.
"""

import secrets
from collections.abc import Collection, Sequence
from datetime import UTC, date, datetime, timedelta
from hashlib import sha256
from zoneinfo import ZoneInfo

from icalendar import Calendar, Event
from sqlalchemy import Connection, func, insert, select, update

from collector.records.facts import Place
from collector.records.tables import person
from dashboard.wheels import tables
from dashboard.wheels.book import Style, Wheel, living, styles
from dashboard.wheels.calendar_days import HORIZON_D, Day, Keep, Planned, anew, days
from dashboard.wheels.counts import ALIVE
from dashboard.wheels.kept_by_wheel import KeptByWheel

PRODUCT = "-//rindwatch//wheel book//EN"
SEQUENCE_FROM = datetime(2020, 1, 1, tzinfo=UTC)
REFRESH = timedelta(hours=6)
TOKEN_BYTES = 32
END = b"END:VCALENDAR\r\n"


def calendar_text(found: Sequence[Day], *, name: str, host: str, base_address: str, keep: Keep = anew) -> bytes:
    """The events as a calendar.

    Args:
        found: from `calendar_days.days`.
        name: shown by the phone. host: makes the names of events ours. base_address: of the dashboard, for links.
        keep: keeps the text of each event.
    """
    calendar = Calendar.new(
        prodid=PRODUCT, name=name, refresh_interval=REFRESH, uid=f"wheel-book@{host}", method="PUBLISH"
    )
    events = b"".join(_kept_event(day, host, base_address, keep) for day in found)
    # Section 3.4 of RFC 5545: the events stand between the calendar's own lines and its end.
    return bytes(calendar.to_ical()).removesuffix(END) + events + END


def _kept_event(day: Day, host: str, base_address: str, keep: Keep) -> bytes:
    facts = (day, host, base_address)
    return keep(("event", day.uid), facts, lambda: bytes(_event(day, host, base_address).to_ical()))


def _event(day: Day, host: str, base_address: str) -> Event:
    stamp = day.changed_at.astimezone(UTC).replace(microsecond=0)
    event = Event.new(
        uid=f"{day.uid}@{host}",
        summary=day.summary,
        description=day.description,
        start=day.on,
        end=day.on + timedelta(days=1),
        stamp=stamp,
        last_modified=stamp,
        sequence=max(int((stamp - SEQUENCE_FROM) / timedelta(minutes=1)), 0),
        url=f"{base_address}{day.path}" if base_address else None,
    )
    event.add("transp", "TRANSPARENT")
    return event


def planned_wheels(connection: Connection, places: Sequence[Place], zone: ZoneInfo, keep: Keep = anew) -> list[Planned]:
    """The living wheels that have a style, as the calendar needs them."""
    by_id = {style.id: style for style in styles(connection)}
    above = {place.id: place for place in places}
    changed, of_style = _CHANGED.get(connection), _styles_changed(connection)
    found = []
    for wheel in living(connection):
        style = by_id.get(wheel.style_id or "")
        if style is not None and (wheel.made_on or "begun" in wheel.last_at):
            cave = _outermost(wheel.place_id, above)
            changed_at = max(changed.get(wheel.id, SEQUENCE_FROM), of_style.get(style.id, SEQUENCE_FROM))
            found.append(_planned(wheel, style, cave, zone, changed_at, keep))
    return found


def _planned(
    wheel: Wheel, style: Style, cave: Place | None, zone: ZoneInfo, changed_at: datetime, keep: Keep
) -> Planned:
    def planned() -> Planned:
        last_on = wheel.last_on(zone)
        return Planned(
            wheel_id=wheel.id,
            code=wheel.code,
            cave_id=cave.id if cave else "",
            cave=cave.name if cave else "",
            style=style.sheet,
            made_on=wheel.made_on or last_on["begun"],
            last_on=last_on,
            changed_at=changed_at,
            covering=wheel.covering,
        )

    return keep(("planned", wheel.id), (wheel, style, cave, zone, changed_at), planned)


def _outermost(place_id: str | None, above: dict[str, Place]) -> Place | None:
    seen: set[str] = set()
    found = above.get(place_id or "")
    while found and found.parent_id in above and found.id not in seen:
        seen.add(found.id)
        found = above[str(found.parent_id)]
    return found


def _read_changed(connection: Connection, wheel_ids: Collection[str] | None) -> dict[str, datetime]:
    """When the last entry about each living wheel came."""
    e, w = tables.entry.c, tables.wheel.c
    some = [] if wheel_ids is None else [w.id.in_(wheel_ids)]
    latest = select(e.wheel_id, func.max(e.received_at)).join_from(tables.wheel, tables.entry, e.wheel_id == w.id)
    rows = connection.execute(latest.where(w.state == ALIVE, *some).group_by(e.wheel_id))
    return {row[0]: row[1] for row in rows}


_CHANGED = KeptByWheel(_read_changed)


def _styles_changed(connection: Connection) -> dict[str, datetime]:
    """When the last entry about each style came."""
    e = tables.entry.c
    rows = connection.execute(
        select(e.style_id, func.max(e.received_at)).where(e.style_id.is_not(None)).group_by(e.style_id)
    )
    return {row[0]: row[1] for row in rows}


def feed_for(
    connection: Connection,
    places: Sequence[Place],
    zone: ZoneInfo,
    now_at: datetime,
    horizon_d: int = HORIZON_D,
    keep: Keep = anew,
) -> list[Day]:
    """The events of the household from today on."""
    today = now_at.astimezone(zone).date()
    return days(planned_wheels(connection, places, zone, keep), today, _began(today, zone), horizon_d, keep)


def _began(today: date, zone: ZoneInfo) -> datetime:
    return datetime(today.year, today.month, today.day, tzinfo=zone).astimezone(UTC)


def new_feed(connection: Connection, who: str, now_at: datetime) -> str:
    """A secret for a person's calendar address, shown once; the person's earlier ones end."""
    revoke_feeds(connection, who, now_at)
    token = secrets.token_urlsafe(TOKEN_BYTES)
    connection.execute(insert(tables.feed).values(token_hash=_hash(token), who=who, made_at=now_at))
    return token


def revoke_feeds(connection: Connection, who: str, now_at: datetime) -> None:
    """End a person's calendar addresses."""
    f = tables.feed.c
    connection.execute(update(tables.feed).where(f.who == who, f.revoked_at.is_(None)).values(revoked_at=now_at))


def who_of(connection: Connection, token: str, now_at: datetime) -> str | None:
    """Whose calendar a secret opens, and a note that it was fetched; None for one that is unknown or ended.

    It also opens nothing once the access of its person is over.
    """
    f = tables.feed.c
    gone = select(person.c.name).where(person.c.to_at <= now_at)
    mine = (f.token_hash == _hash(token)) & f.revoked_at.is_(None) & f.who.not_in(gone)
    who = connection.execute(select(f.who).where(mine)).scalar_one_or_none()
    if who is not None:
        connection.execute(update(tables.feed).where(mine).values(last_fetched_at=now_at))
    return who


def _hash(token: str) -> str:
    return sha256(token.encode()).hexdigest()
