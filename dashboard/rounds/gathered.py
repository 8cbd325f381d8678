"""The round gathered once and kept until the book, the places or the day change.

A phone asks for it several times in a row, and gathering reads every living wheel.
"""

from dataclasses import dataclass, replace
from datetime import datetime
from threading import Lock
from typing import Any
from weakref import WeakKeyDictionary

from markupsafe import Markup
from sqlalchemy import Connection, Engine, func, select

from collector.records.places import places
from dashboard import words
from dashboard.charts.figure_text import figure_json
from dashboard.household import Household
from dashboard.rounds.kept import kept_round
from dashboard.rounds.model import Round
from dashboard.rounds.shelves import round_of
from dashboard.wheels import tables


@dataclass(frozen=True, slots=True)
class Gathered:
    """The round, and what a phone keeps of it: as a value, and as text for a page."""

    round: Round
    kept: dict[str, Any]
    kept_text: Markup


_last: WeakKeyDictionary[Engine, tuple[object, Gathered]] = WeakKeyDictionary()
_lock = Lock()


def gathered(db: Connection, now_at: datetime, household: Household) -> Gathered:
    """The round as it stands now, its time the time of asking."""
    tag = _tag(db, now_at, household)
    with _lock:
        known = _last.get(db.engine)
    if known is None or known[0] != tag:
        found = round_of(db, now_at, household)
        kept = kept_round(db, found, household)
        known = (tag, Gathered(found, kept, figure_json({"wheels": kept["wheels"]})))
        with _lock:
            _last[db.engine] = known
    return _as_of(known[1], now_at, household)


def _tag(db: Connection, now_at: datetime, household: Household) -> object:
    """What the round hangs on: entries are only ever added, so their number says whether the book has changed.

    The hour stands in it because the weights that need no question widen with time.
    """
    entries = db.execute(select(func.count()).select_from(tables.entry)).scalar_one()
    foretold = db.execute(select(func.count()).select_from(tables.forecast)).scalar_one()
    return entries, foretold, tuple(places(db)), household, f"{words.local(now_at, household):%Y-%m-%d %H}"


def _as_of(found: Gathered, now_at: datetime, household: Household) -> Gathered:
    kept = {**found.kept, "at": now_at.isoformat(), "as_of": words.clock_time(now_at, household)}
    return Gathered(replace(found.round, as_of_at=now_at), kept, found.kept_text)
