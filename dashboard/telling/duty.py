"""Who is told first and who next: the duty order as the page shows and changes it."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection, or_, select

from collector.notify.channels import ChannelRow, channels
from collector.notify.wishes import DUTY_KEY, keep_setting, usual_order
from collector.records.tables import person


@dataclass(frozen=True, slots=True)
class OnDuty:
    """One person. `ways`: names of their own ways that are on; without one they are passed over."""

    id: str
    name: str
    ways: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class DutyList:
    """Those in the order, the first told first, and those who are not in it."""

    order: tuple[OnDuty, ...]
    others: tuple[OnDuty, ...]


def duty_list(db: Connection, now_at: datetime) -> DutyList:
    """Everybody who may be on duty: people of the house whose access holds."""
    known = {one.id: one for one in _people(db, now_at)}
    order = [known[one] for one in usual_order(db) if one in known]
    return DutyList(tuple(order), tuple(one for one in known.values() if one not in order))


def _people(db: Connection, now_at: datetime) -> list[OnDuty]:
    p, rows = person.c, channels(db)
    held = or_(p.to_at.is_(None), p.to_at > now_at)
    found = db.execute(select(p.id, p.name).where(p.role.in_(("owner", "helper")), held).order_by(p.name))
    return [OnDuty(row.id, row.name, own_ways(rows, row.id)) for row in found]


def own_ways(rows: Sequence[ChannelRow], person_id: str | None) -> tuple[str, ...]:
    """Names of a person's own ways that tell them of warnings; of those of the whole house for None."""
    return tuple(row.name for row in rows if row.person_id == person_id and row.takes("urgent") and row.tells_people)


def put(db: Connection, person_id: str, now_at: datetime) -> bool:
    """Put somebody at the end of the order; False when there is no such person."""
    now = duty_list(db, now_at)
    if person_id not in {one.id for one in now.others}:
        return False
    _keep(db, [*(one.id for one in now.order), person_id])
    return True


def leave_out(db: Connection, person_id: str, now_at: datetime) -> bool:
    """Take somebody out of the order; without anybody in it all are told at once."""
    ids = [one.id for one in duty_list(db, now_at).order]
    if person_id not in ids:
        return False
    _keep(db, [one for one in ids if one != person_id])
    return True


def shift(db: Connection, person_id: str, by: int, now_at: datetime) -> bool:
    """Move somebody one up (-1) or down (1); False at the end."""
    ids = [one.id for one in duty_list(db, now_at).order]
    if person_id not in ids or not 0 <= ids.index(person_id) + by < len(ids):
        return False
    at = ids.index(person_id)
    ids[at], ids[at + by] = ids[at + by], ids[at]
    _keep(db, ids)
    return True


def _keep(db: Connection, ids: Sequence[str]) -> None:
    keep_setting(db, DUTY_KEY, list(ids))
