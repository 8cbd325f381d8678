"""The round gathered once and kept until the book, the places or the day change.

A phone asks for it several times in a row. What is gathered anew after an entry is the wheel that it is about: rows and
kept words of all others are the ones of before (`wheels.kept_by_wheel`, `wheels.kept_by_facts`).
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
from dashboard.household import Household
from dashboard.rounds.kept import KeptWheel, kept_wheels, text_of
from dashboard.rounds.model import Round
from dashboard.rounds.shelves import round_of
from dashboard.wheels import tables
from dashboard.wheels.changes import revision


@dataclass(frozen=True, slots=True)
class Gathered:
    """The round, and what a phone keeps of it: as values by wheel, and as text for a page."""

    round: Round
    wheels: dict[str, KeptWheel]
    kept_text: Markup

    def kept(self, household: Household) -> dict[str, Any]:
        """What a phone keeps of the whole round, with its time."""
        at = self.round.as_of_at
        wheels = {wheel_id: one.value for wheel_id, one in self.wheels.items()}
        return {"at": at.isoformat(), "as_of": words.clock_time(at, household), "wheels": wheels}


_last: WeakKeyDictionary[Engine, tuple[object, Gathered]] = WeakKeyDictionary()
_lock = Lock()


def gathered(db: Connection, now_at: datetime, household: Household) -> Gathered:
    """The round as it stands now, its time the time of asking."""
    tag = _tag(db, now_at, household)
    with _lock:
        known = _last.get(db.engine)
    if known is None or known[0] != tag:
        found = round_of(db, now_at, household)
        kept = kept_wheels(db, [row for shelf in found.shelves for row in shelf.rows], now_at, household)
        known = (tag, Gathered(found, kept, text_of(kept)))
        with _lock:
            _last[db.engine] = known
    return replace(known[1], round=replace(known[1].round, as_of_at=now_at))


def _tag(db: Connection, now_at: datetime, household: Household) -> object:
    """What the round hangs on: the book, forecasts, places, and how the household wants it.

    The hour stands in it because the weights that need no question widen with time.
    """
    foretold = db.execute(select(func.count()).select_from(tables.forecast)).scalar_one()
    hour = words.local(now_at, household).strftime("%Y-%m-%d %H")
    return revision(db), foretold, tuple(places(db)), household, hour
