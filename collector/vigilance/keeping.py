"""From what is so now to warnings in the records: opens what is new, ends what is over."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, insert, select, update

from collector.records.columns import new_id
from collector.records.tables import warning
from collector.records.warnings import CaveWarning, Outcome, Subject
from collector.vigilance.findings import Finding, Key, Look
from collector.vigilance.rules import VIGIL_RULES


def open_warnings(connection: Connection, rules: Iterable[str] = tuple(VIGIL_RULES)) -> dict[Key, CaveWarning]:
    """The vigil's own warnings that are open, by rule and subject."""
    rows = connection.execute(
        select(warning).where(
            warning.c.rule.in_(list(rules)), warning.c.cleared_at.is_(None), warning.c.withdrawn_at.is_(None)
        )
    )
    found = [CaveWarning(**row._mapping) for row in rows]
    return {(one.rule, Subject(one.place_id, one.probe, one.field)): one for one in found}


def merged(looks: Sequence[Look]) -> Look:
    """Several looks as one."""
    ended: dict[Key, tuple[datetime, dict[str, Any]]] = {}
    for look in looks:
        ended |= look.ended
    kept = frozenset(key for look in looks for key in look.kept)
    return Look(tuple(finding for look in looks for finding in look.found), kept, ended)


def changes(look: Look, is_open: Mapping[Key, CaveWarning]) -> tuple[list[Finding], list[Key]]:
    """What is to be opened (events that are over included), and which open ones have ended."""
    lasting = {finding.key for finding in look.found if finding.over_at is None}
    new = [finding for finding in look.found if finding.over_at is not None or finding.key not in is_open]
    return new, [key for key in is_open if key not in lasting and key not in look.kept]


def keep(
    connection: Connection,
    new: Sequence[Finding],
    over: Sequence[Key],
    look: Look,
    is_open: Mapping[Key, CaveWarning],
    now: datetime,
) -> Outcome:
    """Write it down inside the caller's transaction."""
    opened = tuple(_open(connection, finding, now) for finding in new)
    cleared = tuple(_end(connection, is_open[key], *look.ended.get(key, (now, {})), now) for key in over)
    return Outcome(opened, cleared)


def _open(connection: Connection, finding: Finding, now: datetime) -> CaveWarning:
    new = CaveWarning(
        id=new_id(),
        rule=finding.rule.name,
        severity=finding.severity or finding.rule.severity,
        opened_at=finding.since_at if finding.over_at is not None else now,
        found_at=now,
        place_id=finding.subject.place_id,
        probe=finding.subject.probe,
        field=finding.subject.field,
        cleared_at=finding.over_at,
        facts=finding.facts,
    )
    connection.execute(insert(warning).values({name: getattr(new, name) for name in new.__dataclass_fields__}))
    return new


def _end(
    connection: Connection, before: CaveWarning, at: datetime, facts: Mapping[str, Any], now: datetime
) -> CaveWarning:
    over_at = min(max(at, before.opened_at), now) if now >= before.opened_at else before.opened_at
    over = replace(before, cleared_at=over_at, facts={**before.facts, **facts})
    own = update(warning).where(warning.c.id == before.id)
    connection.execute(own.values(cleared_at=over.cleared_at, facts=over.facts))
    return over


def add_facts(connection: Connection, about: CaveWarning, facts: Mapping[str, Any]) -> CaveWarning:
    """Add facts to a warning; nothing is written when there is nothing new in them."""
    told = replace(about, facts={**about.facts, **facts})
    if told.facts != about.facts:
        connection.execute(update(warning).where(warning.c.id == about.id).values(facts=told.facts))
    return told


def withdraw(connection: Connection, about: CaveWarning, now: datetime) -> CaveWarning:
    """Take back a warning that turned out to be none."""
    connection.execute(update(warning).where(warning.c.id == about.id).values(withdrawn_at=now))
    return replace(about, withdrawn_at=now)
