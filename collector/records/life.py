"""Signs of life: each part of rindwatch says when it last ran and what it saw."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, Engine, insert, select, update

from collector.records.tables import sign_of_life


@dataclass(frozen=True, slots=True)
class Sign:
    """When a part last gave a sign of life, and what it said of itself."""

    part: str
    at: datetime
    facts: dict[str, Any]


def sign(records: Engine, part: str, now: datetime, facts: dict[str, Any]) -> None:
    """Leave a sign of life."""
    with records.begin() as connection:
        own = update(sign_of_life).where(sign_of_life.c.part == part)
        if connection.execute(own.values(at=now, facts=facts)).rowcount == 0:
            connection.execute(insert(sign_of_life).values(part=part, at=now, facts=facts))


def signs(connection: Connection) -> dict[str, Sign]:
    """The last sign of every part."""
    return {row.part: Sign(row.part, row.at, dict(row.facts)) for row in connection.execute(select(sign_of_life))}
