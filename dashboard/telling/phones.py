"""A phone's own subscription: what the house knows of it, and that it ends with the phone's sign-in."""

from collections.abc import Collection
from datetime import datetime
from typing import Literal

from sqlalchemy import Connection, select, update

from collector.notify.channels import channels, mark_of, remove_channel
from collector.notify.subscriptions import SESSION
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


def belongs_to(db: Connection, endpoint: str, session_id: str) -> None:
    """Note with which sign-in a subscription ends: the phone may have signed in anew since it was made."""
    row = db.execute(select(notify_channel).where(notify_channel.c.mark == mark_of(endpoint))).first()
    if row is None or row.removed_at is not None or row.options.get(SESSION) == session_id:
        return
    options = {**row.options, SESSION: session_id}
    db.execute(update(notify_channel).where(notify_channel.c.id == row.id).values(options=options))


def end_phones(db: Connection, session_ids: Collection[str], by: str, now_at: datetime) -> int:
    """Remove the subscriptions of sign-ins that end; returns how many there were.

    Args:
        by: who signed them out. The phone is told that it was done by hand, so that it does not come back by itself.
    """
    theirs = [row for row in channels(db) if row.kind == "push" and row.options.get(SESSION) in set(session_ids) - {""}]
    for row in theirs:
        remove_channel(db, row.id, f"{BY_HAND}{by}, who signed it out", now_at)
    return len(theirs)
