"""What was done about people, by whom and when; only added to."""

from collections.abc import Mapping
from datetime import date, datetime
from typing import Literal

from sqlalchemy import Connection, insert, select

from collector.records.columns import new_id, to_ms
from collector.records.tables import person, person_change

THIS_MACHINE = "this machine"  # whoever types commands on it owns the data anyway
What = Literal["added", "role", "access", "ended", "link", "password", "away", "back",
               "passkey", "passkey_gone", "passkey_doubt"]  # fmt: skip


def note(
    db: Connection, person_id: str, what: What, by: str, now_at: datetime, facts: Mapping[str, str] | None = None
) -> None:
    """Note a change in the transaction that makes it. Somebody who is not there any more is passed over."""
    if db.execute(select(person.c.id).where(person.c.id == person_id)).first() is None:
        return
    row = {
        "id": new_id(to_ms(now_at)), "person_id": person_id, "at": now_at, "by": by, "what": what,
        "facts": dict(facts or {}),
    }  # fmt: skip
    db.execute(insert(person_change), [row])


def days_of(from_on: date | None, to_on: date | None) -> dict[str, str]:
    """The days of an access as they are noted; "" for an open end."""
    return {"from": from_on.isoformat() if from_on else "", "to": to_on.isoformat() if to_on else ""}
