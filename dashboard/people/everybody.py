"""Everybody who may come in: who they are, what they may do and from when until when, and changing that."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import cast
from zoneinfo import ZoneInfo

from sqlalchemy import Connection, func, select, update

from collector.errors import EntryRefused
from collector.notify.away import end_access
from collector.records.tables import person, session, sign_in_link
from dashboard.forms import of_field
from dashboard.household import Household
from dashboard.moments_typed import habits
from dashboard.people.changes import days_of, note
from dashboard.people.person import Role
from dashboard.people.stays import Access, add_person
from dashboard.wheels.calendar_feed import revoke_feeds
from dashboard.wheels.days_typed import parse_day

GIVEN: Mapping[Role, str] = {
    "helper": "Helper: the round, entries, readings",
    "guest": "Guest: looks only",
    "owner": "Owner: everything, people too",
}


@dataclass(frozen=True, slots=True)
class Resident:
    """One person. `last_used_at`: of any of the devices; `invited_until`: while a link waits for its first use."""

    id: str
    name: str
    role: Role
    access: Access
    has_password: bool
    devices: int
    last_used_at: datetime | None
    invited_until: datetime | None


@dataclass(frozen=True, slots=True)
class Given:
    """What a form gives somebody; days of None are open ends."""

    role: Role
    from_on: date | None
    to_on: date | None
    access: Access


def everybody(db: Connection, now_at: datetime) -> list[Resident]:
    """All people, those who may come in first, then by name."""
    devices = select(
        session.c.person_id, func.count().label("devices"), func.max(session.c.last_used_at).label("used")
    ).group_by(session.c.person_id).subquery()  # fmt: skip
    links = (
        select(sign_in_link.c.person_id, sign_in_link.c.expires_at)
        .where(sign_in_link.c.used_at.is_(None), sign_in_link.c.expires_at > now_at)
        .subquery()
    )
    query = (
        select(person, devices.c.devices, devices.c.used, links.c.expires_at)
        .outerjoin(devices, devices.c.person_id == person.c.id)
        .outerjoin(links, links.c.person_id == person.c.id)
    )
    found = [
        Resident(
            row.id, row.name, row.role, Access(row.from_at, row.to_at), row.password_hash is not None,
            row.devices or 0, row.used, row.expires_at,
        )
        for row in db.execute(query)
    ]  # fmt: skip
    return sorted(found, key=lambda one: (one.access.is_over(now_at), one.name.casefold()))


def resident(db: Connection, person_id: str, now_at: datetime) -> Resident | None:
    return next((one for one in everybody(db, now_at) if one.id == person_id), None)


def given(texts: Mapping[str, str], household: Household, now_at: datetime) -> Given:
    """What a form gives: a role, and days of which each may be left open.

    Raises:
        EntryRefused: the first field that cannot be taken.
    """
    role = texts.get("role", "")
    if role not in GIVEN:
        raise EntryRefused("role", "Take one of the choices.")
    from_on, to_on = (_day(texts, field, household, now_at) for field in ("from", "to"))
    if from_on and to_on and to_on < from_on:
        raise EntryRefused("to", f"The last day must not lie before the first, got {from_on} and {to_on}.")
    if to_on and to_on < habits(household, now_at).today:
        raise EntryRefused("to", f"The last day must still be to come, got {to_on}.")
    access = Access(
        _begins(from_on, household.zone) if from_on else None,
        _begins(to_on + timedelta(days=1), household.zone) if to_on else None,
    )
    return Given(cast(Role, role), from_on, to_on, access)


def _begins(day: date, zone: ZoneInfo) -> datetime:
    return datetime.combine(day, time(), zone)


def _day(texts: Mapping[str, str], field: str, household: Household, now_at: datetime) -> date | None:
    text = texts.get(field, "").strip()
    if not text:
        return None
    try:
        return parse_day(text, habits(household, now_at), field="the day", ahead=True)
    except EntryRefused as refused:
        raise of_field(field, refused) from refused


def add(db: Connection, name: str, new: Given, by: str, now_at: datetime) -> str:
    """Somebody new; returns the id. Raises as `add_person`."""
    person_id = add_person(db, name, new.role, new.access, now_at)
    note(db, person_id, "added", by, now_at, {"role": new.role, **days_of(new.from_on, new.to_on)})
    return person_id


def change(db: Connection, before: Resident, new: Given, by: str, now_at: datetime) -> None:
    """Another role or other days for somebody.

    Raises:
        EntryRefused: nobody would be left who is owner for always.
    """
    if new.role != "owner" or new.access != Access(None, None):
        _keep_an_owner(db, before.id)
    values = {"role": new.role, "from_at": new.access.from_at, "to_at": new.access.to_at}
    db.execute(update(person).where(person.c.id == before.id).values(**values))
    if new.role != before.role:
        note(db, before.id, "role", by, now_at, {"from": before.role, "to": new.role})
    if new.access != before.access:
        note(db, before.id, "access", by, now_at, days_of(new.from_on, new.to_on))


def end(db: Connection, one: Resident, by: str, now_at: datetime) -> None:
    """End somebody's access now: sign-ins, links, ways to be told and calendars end with it; what they entered stays.

    Raises:
        EntryRefused: nobody would be left who is owner for always.
    """
    _keep_an_owner(db, one.id)
    db.execute(update(person).where(person.c.id == one.id).values(to_at=now_at))
    end_access(db, now_at)
    revoke_feeds(db, one.name, now_at)
    note(db, one.id, "ended", by, now_at)


def _keep_an_owner(db: Connection, without_id: str) -> None:
    left = (person.c.role == "owner", person.c.password_hash.is_not(None), person.c.to_at.is_(None))
    query = select(person.c.id).where(*left, person.c.from_at.is_(None), person.c.id != without_id)
    if db.execute(query).first() is None:
        raise EntryRefused("role", "Somebody must stay owner for always; make another one first, who has a password.")
