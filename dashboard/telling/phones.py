"""A phone's own subscription: what the house knows of it."""

from typing import Literal

from sqlalchemy import Connection, select

from collector.notify.channels import mark_of
from collector.records.tables import notify_channel

BY_HAND = "removed by "  # so begins why a way was removed when a person did it
State = Literal["on", "off", "other", "unknown"]


def state_of(db: Connection, endpoint: str, person_id: str | None) -> State:
    """How a subscription stands: in use for this person or another, ended by hand, or not known (any more).

    Args:
        endpoint: as the phone names it.
    """
    row = db.execute(select(notify_channel).where(notify_channel.c.mark == mark_of(endpoint))).first()
    if row is None:
        return "unknown"
    if row.removed_at is not None:
        return "off" if row.removed_why.startswith(BY_HAND) else "unknown"
    return "on" if row.person_id == person_id else "other"


def way_of(db: Connection, endpoint: str, person_id: str | None) -> str | None:
    """The id of this person's way to a phone, None when there is none in use."""
    own = notify_channel.c.mark == mark_of(endpoint)
    query = select(notify_channel.c.id, notify_channel.c.person_id).where(own, notify_channel.c.removed_at.is_(None))
    row = db.execute(query).first()
    return str(row.id) if row is not None and row.person_id == person_id else None
