"""Warnings out of the records, for the pages."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy import Connection, func, select

from collector.records.facts import Facts
from collector.records.tables import notify_channel, outbox, outbox_part, warning
from collector.records.warnings import CaveWarning, warnings

RECENT = timedelta(days=21)  # our choice: who was away for a fortnight still finds what was
MOST_RECENT = 60  # on one page
SEVERITIES = ("urgent", "warn", "note")


@dataclass(frozen=True, slots=True)
class Lists:
    """What stands on the page: open ones loudest first, what is over, and what was taken back after it was sent."""

    open: tuple[CaveWarning, ...]
    cleared: tuple[CaveWarning, ...]
    withdrawn: tuple[CaveWarning, ...]
    more_cleared: int


def lists(db: Connection, now_at: datetime) -> Lists:
    """The warnings that a person should see now."""
    since = now_at - RECENT
    known = warnings(db, since=since)
    is_open = sorted((w for w in known if w.open), key=lambda w: SEVERITIES.index(w.severity))
    over = sorted((w for w in known if not w.open), key=lambda w: w.cleared_at or now_at, reverse=True)
    return Lists(tuple(is_open), tuple(over[:MOST_RECENT]), withdrawn(db, since), max(0, len(over) - MOST_RECENT))


def withdrawn(db: Connection, since: datetime) -> tuple[CaveWarning, ...]:
    """Warnings that were taken back after somebody had been told of them; what nobody heard of is not shown."""
    sent = (
        select(outbox_part.c.warning_id)
        .join(outbox, outbox.c.id == outbox_part.c.outbox_id)
        .where(outbox.c.sent_at.is_not(None), outbox_part.c.said != "withdrawn")
    )
    rows = db.execute(
        select(warning)
        .where(warning.c.withdrawn_at >= since, warning.c.id.in_(sent))
        .order_by(warning.c.withdrawn_at.desc())
        .limit(MOST_RECENT)
    )
    return tuple(CaveWarning(**row._mapping) for row in rows)


def waiting(db: Connection) -> int:
    """How many open warnings nobody has seen yet; notes do not count."""
    query = select(func.count()).select_from(warning).where(
        warning.c.cleared_at.is_(None), warning.c.withdrawn_at.is_(None), warning.c.seen_at.is_(None),
        warning.c.severity != "note",
    )  # fmt: skip
    return int(db.execute(query).scalar() or 0)


@dataclass(frozen=True, slots=True)
class Sent:
    """A message about a warning, and what became of it."""

    channel: str
    said: str
    sent_at: datetime | None
    trouble: str


def messages(db: Connection, warning_id: str) -> list[Sent]:
    """What went out about a warning, oldest first; what waits or could not be delivered too."""
    rows = db.execute(
        select(notify_channel.c.name, outbox_part.c.said, outbox.c.sent_at, outbox.c.trouble)
        .join(outbox, outbox.c.id == outbox_part.c.outbox_id)
        .join(notify_channel, notify_channel.c.id == outbox.c.channel)
        .where(outbox_part.c.warning_id == warning_id, outbox.c.dropped_at.is_(None))
        .order_by(outbox.c.created_at)
    )
    return [Sent(*row) for row in rows]


def since_target_changed(facts: Facts, place_id: str, known: Sequence[CaveWarning]) -> list[CaveWarning]:
    """Those of a place's warnings that were found under the target which holds now: older ones speak of another."""
    targets = facts.targets.get(place_id, [])
    changed_at = max((target.known_from_at for target in targets), default=None)
    return [w for w in known if changed_at is None or w.found_at >= changed_at]
