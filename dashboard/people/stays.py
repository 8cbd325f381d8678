"""Access from one time to another: a helper who looks after the cheeses for some days."""

from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy import Connection, insert, select, update

from collector.errors import EntryRefused
from collector.records.columns import new_id
from collector.records.tables import person
from dashboard.people.person import Role

LONGEST_NAME = 80


@dataclass(frozen=True, slots=True)
class Access:
    """From when and until when a person may come in; None: always."""

    from_at: datetime | None
    to_at: datetime | None

    @property
    def last_at(self) -> datetime | None:
        """The last moment of it, as one says it: an access to the end of a day does not end on the next."""
        return None if self.to_at is None else self.to_at - timedelta(milliseconds=1)

    def is_over(self, now_at: datetime) -> bool:
        return self.to_at is not None and self.to_at <= now_at

    def is_to_come(self, now_at: datetime) -> bool:
        return self.from_at is not None and self.from_at > now_at


def access_of(db: Connection, person_id: str) -> Access:
    """A person's access; nobody's is for always, which is found out elsewhere."""
    row = db.execute(select(person.c.from_at, person.c.to_at).where(person.c.id == person_id)).first()
    return Access(row.from_at, row.to_at) if row else Access(None, None)


def add_for_a_stay(db: Connection, name: str, from_at: datetime, to_at: datetime, now_at: datetime) -> str:
    """A new helper whose access begins and ends by itself; returns the id. Raises as `add_person`."""
    return add_person(db, name, "helper", Access(from_at, to_at), now_at)


def add_person(db: Connection, name: str, role: Role, access: Access, now_at: datetime) -> str:
    """Somebody new, who has no password yet; returns the id.

    Raises:
        EntryRefused: a name that is blank, too long, unprintable, or somebody's already.
    """
    name = " ".join(name.split())
    if not 0 < len(name) <= LONGEST_NAME:
        raise EntryRefused("name", f"Take 1 to {LONGEST_NAME} characters for the name; this has {len(name)}.")
    if not name.isprintable():
        raise EntryRefused("name", "Take letters that can be seen for the name.")
    if db.execute(select(person.c.id).where(person.c.name == name)).first() is not None:
        raise EntryRefused("name", f"Somebody here is called {name} already; take them from the list.")
    values = {
        "id": new_id(), "name": name, "role": role, "created_at": now_at, "from_at": access.from_at,
        "to_at": access.to_at,
    }  # fmt: skip
    db.execute(insert(person).values(**values))
    return str(values["id"])


def change_stay(db: Connection, person_id: str, from_at: datetime, to_at: datetime) -> None:
    """Other days for somebody whose access has an end; who may always come in stays so."""
    limited = person.c.to_at.is_not(None)
    db.execute(update(person).where(person.c.id == person_id, limited).values(from_at=from_at, to_at=to_at))


def end_stay(db: Connection, person_id: str, now_at: datetime) -> None:
    """End limited access now; what its person still holds is taken back within the minute."""
    own = (person.c.id == person_id) & (person.c.to_at > now_at)
    db.execute(update(person).where(own).values(to_at=now_at))
