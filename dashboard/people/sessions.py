"""Sign-ins that are remembered here, not in the cookie: each can be seen and ended."""

import hashlib
import secrets
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy import Connection, Engine, delete, insert, or_, select, update

from collector.clock import Clock
from collector.records.columns import new_id
from collector.records.engine import reading
from collector.records.tables import person, session
from dashboard.people.person import Person

LASTS = timedelta(days=400)  # the longest that browsers keep a cookie; it slides while the phone is in use
NOTED_EVERY = timedelta(hours=1)  # how exactly the last use is known; each note is a write to the disk


@dataclass(frozen=True, slots=True)
class Found:
    """A valid session; `noted` is True when its last use was written just now, so that the cookie is due again."""

    id: str
    person: Person
    ticks: Mapping[str, bool]
    noted: bool = False


@dataclass(frozen=True, slots=True)
class Device:
    """A session as its owner sees it."""

    id: str
    device: str
    created_at: datetime
    last_used_at: datetime


def digest(token: str) -> str:
    """What is kept of a token: whoever reads the database cannot sign in with it."""
    return hashlib.sha256(token.encode()).hexdigest()


def open_session(db: Connection, person_id: str, device: str, now_at: datetime) -> str:
    """Begin a session inside the caller's transaction; the token goes into the cookie and nowhere else."""
    token = secrets.token_urlsafe(32)
    row = {
        "token_hash": digest(token), "id": new_id(), "person_id": person_id, "device": device[:120],
        "created_at": now_at, "last_used_at": now_at, "expires_at": now_at + LASTS, "ticks": {},
    }  # fmt: skip
    db.execute(delete(session).where(session.c.expires_at <= now_at))
    db.execute(insert(session), [row])
    return token


def find(engine: Engine, token: str, clock: Clock) -> Found | None:
    """The session of a token, while it and its person's stay last; notes the use."""
    now_at = clock.now()
    query = (
        select(session, person.c.name, person.c.role)
        .join(person, person.c.id == session.c.person_id)
        .where(session.c.token_hash == digest(token), session.c.expires_at > now_at)
        .where(or_(person.c.from_at.is_(None), person.c.from_at <= now_at))
        .where(or_(person.c.to_at.is_(None), person.c.to_at > now_at))
    )
    with reading(engine) as db:
        row = db.execute(query).one_or_none()
    if row is None:
        return None
    due = now_at - row.last_used_at >= NOTED_EVERY
    if due:
        _note_use(engine, row.id, now_at)
    return Found(row.id, Person(row.person_id, row.name, row.role), row.ticks, due)


def _note_use(engine: Engine, session_id: str, now_at: datetime) -> None:
    with engine.begin() as db:
        db.execute(
            update(session)
            .where(session.c.id == session_id)
            .values(last_used_at=now_at, expires_at=now_at + LASTS)
        )  # fmt: skip


def devices(db: Connection, person_id: str) -> list[Device]:
    """A person's sessions, the latest used first."""
    columns = (session.c.id, session.c.device, session.c.created_at, session.c.last_used_at)
    rows = db.execute(select(*columns).where(session.c.person_id == person_id).order_by(session.c.last_used_at.desc()))
    return [Device(*row) for row in rows]


def end(db: Connection, person_id: str, session_id: str) -> bool:
    """End one of a person's sessions; False when it is not theirs or gone already."""
    gone = db.execute(delete(session).where(session.c.id == session_id, session.c.person_id == person_id))
    return gone.rowcount > 0


def end_all(db: Connection, person_id: str) -> None:
    db.execute(delete(session).where(session.c.person_id == person_id))


def ticks(db: Connection, session_id: str) -> dict[str, bool]:
    """What this phone has shown that it can do."""
    return dict(db.execute(select(session.c.ticks).where(session.c.id == session_id)).scalar_one_or_none() or {})


def tick(db: Connection, session_id: str, name: str, done: bool = True) -> None:
    """Tick off one step of "this phone is set up"."""
    new = {**ticks(db, session_id), name: done}
    db.execute(update(session).where(session.c.id == session_id).values(ticks=new))


def owner(db: Connection) -> Person | None:
    """The first owner; one whose access has an end stands behind those who may always come in."""
    order = (person.c.to_at.is_not(None), person.c.created_at)
    query = select(person).where(person.c.role == "owner").order_by(*order)
    row = db.execute(query).first()
    return Person(row.id, row.name, row.role) if row else None
