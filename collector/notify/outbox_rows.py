"""Messages in the outbox as the records have them: what they speak of, and their words."""

from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from typing import Any

from sqlalchemy import ColumnElement, Connection, and_, func, select, update

from collector.notify import facts
from collector.notify.known import Known
from collector.notify.telling import word
from collector.notify.words import Part, Words, compose
from collector.records.tables import outbox, outbox_part, warning
from collector.records.warnings import CaveWarning, Subject

DAY = timedelta(hours=24)
NEVER = datetime.min.replace(tzinfo=UTC)
OWN_FACTS = ("ledger",)  # a rule's own book-keeping, nothing for others
WAITS = and_(outbox.c.sent_at.is_(None), outbox.c.dropped_at.is_(None), outbox.c.given_up_at.is_(None))
UNTRIED = and_(WAITS, outbox.c.attempts == 0)
TOLD = and_(outbox.c.attempts > 0, outbox.c.given_up_at.is_(None))


def word_row(connection: Connection, row_id: str, known: Known, now: datetime) -> list[Part]:
    """Put one untried message into words as its warnings stand now; it is dropped when nothing is left to say.

    Returns:
        What it speaks of.
    """
    parts = parts_of(connection, row_id)
    own = update(outbox).where(outbox.c.id == row_id)
    if not parts:
        connection.execute(own.values(dropped_at=now))
        return parts
    words = _words(connection, parts, known, now)
    path = f"/warnings/{parts[0].warning.id}" if len(parts) == 1 else "/warnings"
    connection.execute(own.values(title=words.title, body=words.body, path=path, warning_id=parts[0].warning.id))
    return parts


def parts_of(connection: Connection, row_id: str) -> list[Part]:
    """What a message speaks of, oldest problem first. An all-clear for what has opened again is no part of it."""
    query = select(warning, outbox_part.c.said).join(outbox_part, outbox_part.c.warning_id == warning.c.id)
    rows = connection.execute(query.where(outbox_part.c.outbox_id == row_id).order_by(warning.c.opened_at))
    parts = []
    for row in rows:
        values = dict(row._mapping)
        said = values.pop("said")
        part = Part(CaveWarning(**values), said)
        if said != "cleared" or part.warning.cleared_at is not None:
            parts.append(part)
    return parts


def _words(connection: Connection, parts: Sequence[Part], known: Known, now: datetime) -> Words:
    times = {part.warning.id: _times(connection, part.warning) for part in parts if not part.over}
    return compose(parts, known.with_times(times), now)


def _times(connection: Connection, about: CaveWarning) -> int:
    """How often a rule has spoken of its subject within the day before."""
    query = select(func.count()).select_from(warning).where(same_problem(about), warning.c.withdrawn_at.is_(None))
    within = and_(warning.c.opened_at > about.opened_at - DAY, warning.c.opened_at <= about.opened_at)
    return int(connection.execute(query.where(within)).scalar() or 0)


def same_problem(about: CaveWarning) -> ColumnElement[bool]:
    return and_(warning.c.rule == about.rule, Subject(about.place_id, about.probe, about.field).matches())


def last_told_at(connection: Connection, about: CaveWarning, channel_id: str, said: Sequence[str]) -> datetime:
    """When a channel last told one of these of a warning, by when it was written; long ago when it never did."""
    query = with_part(select(func.max(outbox.c.created_at)), about.id, said)
    own = and_(outbox.c.channel == channel_id, TOLD, outbox.c.dropped_at.is_(None))
    return connection.execute(query.where(own)).scalar() or NEVER


def joined(query: Any) -> Any:
    """A query of messages with their parts and warnings."""
    return query.join(outbox_part, outbox_part.c.outbox_id == outbox.c.id).join(
        warning, warning.c.id == outbox_part.c.warning_id
    )


def with_part(query: Any, warning_id: str, said: Sequence[str] = ()) -> Any:
    """A query of messages that speak of a warning, in these senses."""
    own = query.join(outbox_part, outbox_part.c.outbox_id == outbox.c.id)
    own = own.where(outbox_part.c.warning_id == warning_id)
    return own.where(outbox_part.c.said.in_(said)) if said else own


def problems(parts: Sequence[Part], known: Known) -> list[dict[str, Any]]:
    """What a message speaks of as plain values, for machines; times in ISO 8601, numbers in canonical units."""
    return [
        {
            "id": part.warning.id,
            "said": "opened" if part.said == "over" else part.said,
            "rule": part.warning.rule,
            "word": word(part.warning.rule),
            "severity": part.warning.severity,
            "about": known.subject(part.warning),
            "place_id": known.place_of(part.warning),
            "probe": part.warning.probe,
            "field": part.warning.field,
            "since": facts.since(part.warning).isoformat(),
            "opened_at": part.warning.opened_at.isoformat(),
            "cleared_at": part.warning.cleared_at.isoformat() if part.warning.cleared_at else None,
            "facts": {k: v for k, v in part.warning.facts.items() if k not in OWN_FACTS},
        }
        for part in parts
    ]
