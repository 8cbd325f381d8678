"""Warnings in the records: opened, re-judged, seen, cleared. What was sent is never rewritten."""

import dataclasses
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import ColumnElement, Connection, and_, insert, or_, select, update

from collector.records.columns import from_ms, new_id, to_ms
from collector.records.tables import warning
from collector.rules.model import Verdict


@dataclass(frozen=True, slots=True)
class Subject:
    """What a warning is about: a place, or a probe (and one field of it)."""

    place_id: str | None = None
    probe: str | None = None
    field: str | None = None

    def matches(self) -> ColumnElement[bool]:
        return and_(
            warning.c.place_id.is_not_distinct_from(self.place_id),
            warning.c.probe.is_not_distinct_from(self.probe),
            warning.c.field.is_not_distinct_from(self.field),
        )


@dataclass(frozen=True, slots=True)
class CaveWarning:
    """One spell that a rule found, as a person sees it."""

    id: str
    rule: str
    severity: str
    opened_at: datetime
    found_at: datetime
    place_id: str | None = None
    probe: str | None = None
    field: str | None = None
    cleared_at: datetime | None = None
    found_late: bool = False
    withdrawn_at: datetime | None = None
    facts: dict[str, Any] = dataclasses.field(default_factory=dict)
    seen_at: datetime | None = None
    seen_by: str | None = None
    judged: str | None = None
    judged_by: str | None = None

    @property
    def open(self) -> bool:
        return self.cleared_at is None and self.withdrawn_at is None


@dataclass(frozen=True, slots=True)
class Outcome:
    """What a reconciliation changed, for the outbox; what was reopened had been over, by what was known before."""

    opened: tuple[CaveWarning, ...] = ()
    cleared: tuple[CaveWarning, ...] = ()
    withdrawn: tuple[CaveWarning, ...] = ()
    reopened: tuple[CaveWarning, ...] = ()


def open_at(connection: Connection, rule: str, subject: Subject, at_ms: int) -> Verdict | None:
    """The spell of a rule that was open at a time, to be carried into judging from there on."""
    at = from_ms(at_ms)
    row = connection.execute(
        select(warning)
        .where(subject.matches(), warning.c.rule == rule, warning.c.withdrawn_at.is_(None))
        .where(warning.c.opened_at < at, or_(warning.c.cleared_at.is_(None), warning.c.cleared_at >= at))
        .order_by(warning.c.opened_at.desc())
        .limit(1)
    ).first()
    return None if row is None else Verdict(rule, to_ms(row.opened_at), None, dict(row.facts))


def reconcile(
    connection: Connection,
    rule: str,
    severity: str,
    subject: Subject,
    span: tuple[int, int],
    verdicts: Sequence[Verdict],
    now: datetime,
    late_after_ms: int,
) -> Outcome:
    """Make the stored spells of a rule within a span those of a new judgement.

    A spell that overlaps a stored one is the same warning, mended. One that was not there is opened, as found late
    when it began long before it was found. One that is there no more is withdrawn, not erased. One that was over and
    is not, by readings that came late, is reopened, and nobody has seen it so.
    """
    stored = _stored(connection, rule, subject, span)
    opened, cleared, reopened = [], [], []
    for verdict in verdicts:
        same = next((w for w in stored if _overlap(w, verdict)), None)
        if same is None:
            opened.append(_open(connection, verdict, severity, subject, now, late_after_ms))
            continue
        stored.remove(same)
        mended = _mend(connection, same, verdict)
        if same.cleared_at is None and mended.cleared_at is not None:
            cleared.append(mended)
        if same.cleared_at is not None and mended.cleared_at is None:
            reopened.append(mended)
    for gone in stored:
        connection.execute(update(warning).where(warning.c.id == gone.id).values(withdrawn_at=now))
    return Outcome(tuple(opened), tuple(cleared), tuple(stored), tuple(reopened))


def _stored(connection: Connection, rule: str, subject: Subject, span: tuple[int, int]) -> list[CaveWarning]:
    start, end = from_ms(span[0]), from_ms(span[1])
    rows = connection.execute(
        select(warning)
        .where(subject.matches(), warning.c.rule == rule, warning.c.withdrawn_at.is_(None))
        .where(warning.c.opened_at < end, or_(warning.c.cleared_at.is_(None), warning.c.cleared_at >= start))
        .order_by(warning.c.opened_at)
    )
    return [_value(row) for row in rows]


def _value(row: Any) -> CaveWarning:
    return CaveWarning(**row._mapping)


def _overlap(stored: CaveWarning, verdict: Verdict) -> bool:
    ends = float("inf") if verdict.cleared_ms is None else verdict.cleared_ms
    stored_ends = float("inf") if stored.cleared_at is None else to_ms(stored.cleared_at)
    return to_ms(stored.opened_at) <= ends and verdict.opened_ms <= stored_ends


def _open(
    connection: Connection, verdict: Verdict, severity: str, subject: Subject, now: datetime, late_after_ms: int
) -> CaveWarning:
    opened_at = from_ms(verdict.opened_ms)
    new = CaveWarning(
        id=new_id(),
        rule=verdict.rule,
        severity=severity,
        opened_at=opened_at,
        found_at=now,
        place_id=subject.place_id,
        probe=subject.probe,
        field=subject.field,
        cleared_at=None if verdict.cleared_ms is None else from_ms(verdict.cleared_ms),
        found_late=to_ms(now) - verdict.opened_ms > late_after_ms,
        facts=verdict.facts,
    )
    connection.execute(insert(warning).values({name: getattr(new, name) for name in new.__dataclass_fields__}))
    return new


def _mend(connection: Connection, stored: CaveWarning, verdict: Verdict) -> CaveWarning:
    changes: dict[str, Any] = {
        "opened_at": from_ms(verdict.opened_ms),
        "cleared_at": None if verdict.cleared_ms is None else from_ms(verdict.cleared_ms),
        "facts": verdict.facts,
    }
    if stored.cleared_at is not None and verdict.cleared_ms is None:
        changes |= {"seen_at": None, "seen_by": None}
    if any(getattr(stored, name) != value for name, value in changes.items()):
        connection.execute(update(warning).where(warning.c.id == stored.id).values(**changes))
    values = {name: getattr(stored, name) for name in stored.__dataclass_fields__} | changes
    return CaveWarning(**values)


def warnings(
    connection: Connection,
    *,
    only_open: bool = False,
    place_id: str | None = None,
    since: datetime | None = None,
    limit: int = 500,
) -> list[CaveWarning]:
    """Warnings that were not withdrawn, newest first."""
    query = select(warning).where(warning.c.withdrawn_at.is_(None))
    if only_open:
        query = query.where(warning.c.cleared_at.is_(None))
    if place_id is not None:
        query = query.where(warning.c.place_id == place_id)
    if since is not None:
        query = query.where(or_(warning.c.cleared_at.is_(None), warning.c.cleared_at >= since))
    return [_value(row) for row in connection.execute(query.order_by(warning.c.opened_at.desc()).limit(limit))]


def logged(connection: Connection, from_at: datetime, to_at: datetime) -> list[CaveWarning]:
    """Every warning of the log that touches a span, withdrawn ones too, in the order in which they were found."""
    rows = connection.execute(
        select(warning)
        .where(warning.c.opened_at < to_at, or_(warning.c.cleared_at.is_(None), warning.c.cleared_at >= from_at))
        .order_by(warning.c.found_at, warning.c.opened_at)
    )
    return [_value(row) for row in rows]


def one(connection: Connection, warning_id: str) -> CaveWarning | None:
    row = connection.execute(select(warning).where(warning.c.id == warning_id)).first()
    return None if row is None else _value(row)


def mark_seen(connection: Connection, warning_id: str, who: str, now: datetime) -> None:
    """Note who saw it first."""
    connection.execute(
        update(warning).where(warning.c.id == warning_id, warning.c.seen_at.is_(None)).values(seen_at=now, seen_by=who)
    )


def judge(connection: Connection, warning_id: str, verdict: str, who: str) -> None:
    """A person says whether a warning was right or a false alarm; the last word stands.

    Raises:
        ValueError: another word than right or false.
    """
    if verdict not in ("right", "false"):
        raise ValueError(f"a warning is judged right or false, got {verdict}")
    connection.execute(update(warning).where(warning.c.id == warning_id).values(judged=verdict, judged_by=who))


def doubts(
    connection: Connection, rules: Sequence[str], from_at: datetime, to_at: datetime
) -> list[tuple[str, str, int, int | None]]:
    """Probe, field, from and to of the spells in which a probe's own fault makes its readings doubtful."""
    rows = connection.execute(
        select(warning.c.probe, warning.c.field, warning.c.opened_at, warning.c.cleared_at, warning.c.facts)
        .where(warning.c.rule.in_(rules), warning.c.withdrawn_at.is_(None), warning.c.opened_at < to_at)
        .where(or_(warning.c.cleared_at.is_(None), warning.c.cleared_at >= from_at))
    )
    return [
        (row.probe, row.field, int(row.facts.get("since_ms", to_ms(row.opened_at))),
         None if row.cleared_at is None else to_ms(row.cleared_at))
        for row in rows
    ]  # fmt: skip
