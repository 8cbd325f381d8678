"""The time that *Vat or cave?* asks about: of one rind note, or of a kind of note. Only reads."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, time, timedelta
from zoneinfo import ZoneInfo

from sqlalchemy import Connection

from dashboard.wheels import tables
from dashboard.wheels.bodies.doings import RindNote
from dashboard.wheels.entry_rows import standing_where
from dashboard.wheels.history import clean_before
from dashboard.wheels.model import Entry

BOUT = timedelta(days=30)  # our choice: notes of one kind within a month of each other are one bout
SAME_ROUND = timedelta(days=1)  # a wheel seen on the round before, a day earlier, counts as seen
WITHOUT_A_CLEAN_DAY = timedelta(days=30)  # looked back over where nobody saw it clean before; our choice


@dataclass(frozen=True, slots=True)
class Bout:
    """The note that is asked about, and the time in which its cause lies.

    Args:
        first_id: the first note of the kind since the wheel was last free of it.
        from_at: last seen clean, if `clean_known`; else so long before. to_at: first seen.
    """

    kind: str
    wheel_id: str
    first_id: str
    from_at: datetime
    to_at: datetime
    clean_known: bool


@dataclass(frozen=True, slots=True)
class Span:
    """Which time is asked about.

    Args:
        from_at, to_at: where the cause may lie. sick_from_at, until_at: notes of one kind in between are meant.
        seen_from_at: a wheel seen from then on, until `until_at`, is known to be clean or not.
    """

    kind: str
    from_at: datetime
    to_at: datetime
    sick_from_at: datetime
    seen_from_at: datetime
    until_at: datetime


def bout_of(db: Connection, note_id: str, zone: ZoneInfo) -> Bout | None:
    """The bout that a rind note belongs to; None if there is no such note, or it was corrected or undone."""
    found = standing_where(db, tables.entry.c.id == note_id)
    note = found[0].body if found else None
    if not isinstance(note, RindNote) or found[0].wheel_id is None:
        return None
    entries = standing_where(db, tables.entry.c.wheel_id == found[0].wheel_id)
    first = _first_of(entries, found[0], note.note)
    clean_at = clean_before(entries, first)
    to_at = _first_seen(first, zone)
    if clean_at is not None and clean_at >= to_at:
        to_at = first.happened_at
    from_at = clean_at if clean_at is not None and clean_at < to_at else None
    begun_at = entries[0].happened_at
    began_at = max(to_at - WITHOUT_A_CLEAN_DAY, min(begun_at, to_at - SAME_ROUND))
    return Bout(note.note, found[0].wheel_id, first.id, from_at or began_at, to_at, from_at is not None)


def _first_of(entries: Sequence[Entry], note: Entry, kind: str) -> Entry:
    """The first note of the kind since the wheel was last free of it; entries in order."""
    first = note
    for entry in entries:
        if entry.id == note.id:
            break
        if isinstance(entry.body, RindNote) and entry.body.note == kind:
            first = note if entry.body.gone else entry if first is note else first
    return first


def _first_seen(note: Entry, zone: ZoneInfo) -> datetime:
    """The end of the day on which it was first seen, else when it was noted."""
    seen_on = note.body.first_seen_on if isinstance(note.body, RindNote) else None
    if seen_on is None:
        return note.happened_at
    return min(datetime.combine(seen_on, time(23, 59), zone).astimezone(UTC), note.happened_at)


def around(bout: Bout, now_at: datetime) -> Span:
    """The time asked about by one note: notes within a month count, and a look since the day before it was seen."""
    until_at = max(min(bout.to_at + BOUT, now_at), bout.to_at)
    return Span(bout.kind, bout.from_at, bout.to_at, bout.from_at - BOUT, bout.to_at - SAME_ROUND, until_at)


def whole(kind: str, since_at: datetime, now_at: datetime) -> Span:
    """The time asked about by a kind of note."""
    return Span(kind, since_at, now_at, since_at, since_at, now_at)
