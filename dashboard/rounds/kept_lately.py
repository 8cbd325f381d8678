"""What a phone keeps of each wheel's latest entries, so that they are corrected or taken back without a signal."""

from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import Connection, func, select

from dashboard import words
from dashboard.household import Household
from dashboard.rounds.correcting import CORRECTABLE, as_it_was, carried
from dashboard.rounds.entry_words import entry_words
from dashboard.rounds.row_words import OwnWords
from dashboard.wheels import tables
from dashboard.wheels.book import own_words
from dashboard.wheels.entry_rows import handfuls, standing_where
from dashboard.wheels.model import Entry

KEPT_FOR = timedelta(days=30)
EACH = 6  # of one wheel; some rounds of a wheel that is turned daily; our choice


def kept_lately(db: Connection, now_at: datetime, household: Household) -> dict[str, list[dict[str, Any]]]:
    """By wheel id its latest entries that still stand, the newest first, each with what its correction needs."""
    own, found = own_words(db), dict[str, list[dict[str, Any]]]()
    for entry in reversed(_latest(db, now_at)):
        found.setdefault(str(entry.wheel_id), []).append(_kept(entry, own, now_at, household))
    return found


def _latest(db: Connection, now_at: datetime) -> list[Entry]:
    """In order; of each living wheel so many as are kept, less those that were corrected or taken back."""
    c, w = tables.entry.c, tables.wheel.c
    number = func.row_number().over(partition_by=c.wheel_id, order_by=(c.happened_at.desc(), c.id.desc()))
    recent = (
        select(c.id, number.label("number"))
        .join_from(tables.entry, tables.wheel, c.wheel_id == w.id)
        .where(c.kind.in_(CORRECTABLE), c.happened_at > now_at - KEPT_FOR, w.state == "alive")
        .subquery()
    )
    ids = db.execute(select(recent.c.id).where(recent.c.number <= EACH)).scalars()
    found = [entry for some in handfuls(ids) for entry in standing_where(db, c.id.in_(some))]
    return sorted(found, key=lambda entry: (entry.happened_at, entry.id))


def _kept(entry: Entry, own: OwnWords, now_at: datetime, household: Household) -> dict[str, Any]:
    return {
        "id": entry.id,
        "words": entry_words(entry, own, household) + (f" ({entry.who})" if entry.who else ""),
        "when": words.moment(entry.happened_at, now_at, household),
        "entry": as_it_was(entry),
        "carried": carried(entry),
    }
