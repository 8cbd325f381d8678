"""One-time links, by which a person sets a password: printed on the machine, good for a day, used once."""

import secrets
from datetime import datetime, timedelta

from sqlalchemy import Connection, Engine, delete, insert, select, update

from collector.clock import Clock
from collector.records.columns import new_id
from collector.records.tables import person, sign_in_link
from dashboard.people import passkeys
from dashboard.people.changes import THIS_MACHINE, note
from dashboard.people.person import OWNER_NAME, Person
from dashboard.people.sessions import devices, digest, end_all, owner
from dashboard.telling.phones import end_phones

LASTS = timedelta(hours=24)
AT_MOST = timedelta(days=14)  # our choice: a link lies in somebody's messages until it is used


def issue_link(
    engine: Engine,
    clock: Clock,
    person_id: str | None = None,
    good_until: datetime | None = None,
    by: str = THIS_MACHINE,
) -> str:
    """The path of a new one-time link for the owner, or for somebody else; older links of the same person end.

    The owner is made when there is none yet. A link is good for a day, or until a time, but never beyond a fortnight.
    """
    token, now_at = secrets.token_urlsafe(24), clock.now()
    with engine.begin() as db:
        whose = person_id or _owner_id(db, now_at)
        db.execute(delete(sign_in_link).where(sign_in_link.c.person_id == whose))
        row = {
            "token_hash": digest(token), "person_id": whose, "created_at": now_at, "used_at": None,
            "expires_at": now_at + LASTS if good_until is None else min(good_until, now_at + AT_MOST),
        }  # fmt: skip
        db.execute(insert(sign_in_link), [row])
        note(db, whose, "link", by, now_at)
    return f"/first/{token}"


def _owner_id(db: Connection, now_at: datetime) -> str:
    known = owner(db)
    if known:
        return known.id
    row = {"id": new_id(), "name": OWNER_NAME, "role": "owner", "created_at": now_at}
    db.execute(insert(person), [row])
    return row["id"]  # type: ignore[return-value]


def has_owner(db: Connection) -> bool:
    """True when an owner has set a password, so that somebody can sign in."""
    query = select(person.c.id).where(person.c.role == "owner", person.c.password_hash.is_not(None))
    return db.execute(query).first() is not None


def whose(db: Connection, token: str, now_at: datetime) -> Person | None:
    """Whom a link is for, while it is good; looking does not use it up."""
    query = (
        select(person.c.id, person.c.name, person.c.role)
        .join(sign_in_link, sign_in_link.c.person_id == person.c.id)
        .where(sign_in_link.c.token_hash == digest(token), sign_in_link.c.used_at.is_(None))
        .where(sign_in_link.c.expires_at > now_at)
    )
    row = db.execute(query).first()
    return Person(*row) if row else None


def use(db: Connection, token: str, name: str, password_hash: str, now_at: datetime) -> Person | None:
    """Set name and password by a link; the link ends with it, and every older sign-in and passkey of that person.

    None when the link is no longer good.
    """
    found = whose(db, token, now_at)
    if found is None:
        return None
    link = sign_in_link.c.token_hash == digest(token)
    db.execute(update(sign_in_link).where(link).values(used_at=now_at))
    db.execute(update(person).where(person.c.id == found.id).values(name=name, password_hash=password_hash))
    # Whoever has a lost phone does not stay in, and is told of no warning.
    end_phones(db, {device.id for device in devices(db, found.id)}, name, now_at)
    end_all(db, found.id)
    passkeys.remove_all(db, found.id, name, now_at)
    note(db, found.id, "password", name, now_at)
    return Person(found.id, name, found.role)
