"""Passkeys: keys that a phone holds and signs in with; the house keeps only what verifies them."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection, delete, insert, select, update

from collector.errors import EntryRefused
from collector.records.columns import new_id
from collector.records.tables import passkey
from dashboard.people.changes import note
from dashboard.people.passkey_answers import Made

LONGEST_NAME = 60
MOST = 10  # of one person; a household's phones and a key in a drawer


@dataclass(frozen=True, slots=True)
class Passkey:
    """A passkey. `host`: the name it works at; `doubted_at`: since when it is refused, as a copy of it may exist."""

    id: str
    person_id: str
    credential_id: str
    public_key: bytes
    sign_count: int
    host: str
    name: str
    made_at: datetime
    last_used_at: datetime | None
    doubted_at: datetime | None


def of_person(db: Connection, person_id: str) -> list[Passkey]:
    """A person's passkeys, the newest first."""
    own = passkey.c.person_id == person_id
    return [Passkey(*row) for row in db.execute(select(passkey).where(own).order_by(passkey.c.made_at.desc()))]


def known(db: Connection, credential_id: str) -> Passkey | None:
    """The passkey that a phone names."""
    row = db.execute(select(passkey).where(passkey.c.credential_id == credential_id)).one_or_none()
    return Passkey(*row) if row else None


def hosts(db: Connection) -> frozenset[str]:
    """The names for which somebody has a passkey, so that the sign-in page offers it there."""
    return frozenset(db.execute(select(passkey.c.host).distinct()).scalars())


def checked_name(db: Connection, person_id: str, name: str) -> str:
    """The name for a new passkey of a person.

    Raises:
        EntryRefused: it is blank, too long, unprintable or theirs already, or they have as many as one may have.
    """
    name = " ".join(name.split())
    if not 0 < len(name) <= LONGEST_NAME or not name.isprintable():
        raise EntryRefused("name", f"Take 1 to {LONGEST_NAME} characters that can be seen; this has {len(name)}.")
    held = of_person(db, person_id)
    if name in {one.name for one in held}:
        raise EntryRefused("name", f"You have a passkey {name} already; remove it first, or take another name.")
    if len(held) >= MOST:
        raise EntryRefused("name", f"At most {MOST} passkeys are held at once; remove one that is not used.")
    return name


def add(db: Connection, whose: tuple[str, str], name: str, new: Made, host: str, now_at: datetime) -> None:
    """Keep a new passkey of a person, told as (id, name).

    Raises:
        EntryRefused: the name cannot be taken, or the phone made up an id that is known here already.
    """
    person_id, by = whose
    name = checked_name(db, person_id, name)
    if known(db, new.credential_id) is not None:
        raise EntryRefused("credential", "This passkey is known here already.")
    row = {
        "id": new_id(), "person_id": person_id, "credential_id": new.credential_id, "public_key": new.public_key,
        "sign_count": new.sign_count, "host": host, "name": name, "made_at": now_at,
    }  # fmt: skip
    db.execute(insert(passkey), [row])
    note(db, person_id, "passkey", by, now_at, {"name": name})


def went_backwards(one: Passkey, count: int) -> bool:
    """Whether a count tells of a copy (W3C Web Authentication Level 3, 6.1.1); many count nothing and say 0."""
    return (count > 0 or one.sign_count > 0) and count <= one.sign_count


def used(db: Connection, one: Passkey, count: int, now_at: datetime) -> bool:
    """Note a sign-in; False when another answer of the same passkey was taken since it was looked up."""
    same = (passkey.c.id == one.id) & (passkey.c.sign_count == one.sign_count) & passkey.c.doubted_at.is_(None)
    done = db.execute(update(passkey).where(same).values(sign_count=count, last_used_at=now_at))
    return done.rowcount > 0


def doubt(db: Connection, one: Passkey, by: str, now_at: datetime) -> None:
    """Take no more answers of a passkey whose count went backwards; it is told to its person and the owner."""
    db.execute(update(passkey).where(passkey.c.id == one.id).values(doubted_at=now_at))
    note(db, one.person_id, "passkey_doubt", by, now_at, {"name": one.name})


def remove(db: Connection, person_id: str, passkey_id: str, by: str, now_at: datetime) -> str | None:
    """Forget one of a person's passkeys; returns its name, None when it is not theirs or gone already."""
    own = (passkey.c.id == passkey_id) & (passkey.c.person_id == person_id)
    name = db.execute(select(passkey.c.name).where(own)).scalar()
    if name is None:
        return None
    _forget(db, person_id, [str(name)], by, now_at)
    return str(name)


def remove_all(db: Connection, person_id: str, by: str, now_at: datetime) -> int:
    """Forget all passkeys of a person, whose phone may be lost; returns how many there were."""
    names = [one.name for one in of_person(db, person_id)]
    _forget(db, person_id, names, by, now_at)
    return len(names)


def _forget(db: Connection, person_id: str, names: Sequence[str], by: str, now_at: datetime) -> None:
    db.execute(delete(passkey).where(passkey.c.person_id == person_id, passkey.c.name.in_(names)))
    for name in names:
        note(db, person_id, "passkey_gone", by, now_at, {"name": name})
