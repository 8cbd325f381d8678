"""Who is there, and what each role may do."""

from dataclasses import dataclass
from typing import Literal, get_args

Role = Literal["anyone", "guest", "helper", "owner"]
ROLES: tuple[Role, ...] = get_args(Role)  # each may do what the ones before it may
OWNER_NAME = "Owner"


@dataclass(frozen=True, slots=True)
class Person:
    """Somebody who signed in."""

    id: str
    name: str
    role: Role

    def may(self, needed: Role) -> bool:
        """True when this person's role is the needed one or a wider one."""
        return ROLES.index(self.role) >= ROLES.index(needed)


@dataclass(frozen=True, slots=True)
class Who:
    """A person at one device; session_id is "" when this machine's own browser is let in without signing in."""

    person: Person
    session_id: str
