"""Short codes given to wheels, shelves and boards: once, and never to anything else."""

from datetime import datetime
from typing import Literal

from sqlalchemy import Connection, insert, select

from dashboard.wheels import tables
from dashboard.wheels.codes import short_code
from dashboard.wheels.refresh import lock

Subject = Literal["wheel", "place", "gear"]


def give_label(connection: Connection, of: Subject, subject_id: str, now_at: datetime) -> str:
    """The short code of something; given at the first asking, the same ever after."""
    given = label_of(connection, subject_id)
    if given is not None:
        return given
    lock(connection)
    attempt = 0
    while _taken(connection, code := short_code(subject_id, attempt)):
        attempt += 1
    connection.execute(insert(tables.label).values(code=code, of=of, subject_id=subject_id, given_at=now_at))
    return code


def label_of(connection: Connection, subject_id: str) -> str | None:
    """The short code that something already has."""
    statement = select(tables.label.c.code).where(tables.label.c.subject_id == subject_id)
    return connection.execute(statement).scalar_one_or_none()


def subject_of(connection: Connection, code: str) -> tuple[str, str] | None:
    """What a short code stands on: (wheel, place or gear; its id)."""
    row = connection.execute(select(tables.label).where(tables.label.c.code == code)).one_or_none()
    return None if row is None else (row.of, row.subject_id)


def _taken(connection: Connection, code: str) -> bool:
    """Given already, or some wheel's own code: neither may be read as another wheel."""
    if subject_of(connection, code) is not None:
        return True
    return connection.execute(select(tables.wheel.c.id).where(tables.wheel.c.code == code)).first() is not None
