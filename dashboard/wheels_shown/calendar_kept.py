"""The calendar's text, kept until the book, the places or the day change: phones ask for it again and again.

After a change only the wheels that it touched are planned anew, and only events that say something else are written.
"""

from datetime import datetime
from threading import Lock
from typing import Any
from urllib.parse import urlsplit
from weakref import WeakKeyDictionary

from sqlalchemy import Connection, Engine

from collector.records.places import places
from dashboard import words
from dashboard.household import Household
from dashboard.wheels.calendar_feed import calendar_text, feed_for
from dashboard.wheels.changes import revision
from dashboard.wheels.kept_by_facts import KeptByFacts

_last: WeakKeyDictionary[Engine, tuple[object, bytes]] = WeakKeyDictionary()
_lock = Lock()
_PARTS = KeptByFacts[Any]()


def kept_calendar(db: Connection, now_at: datetime, household: Household, base_address: str) -> bytes:
    """The calendar as it stands now."""
    known_places = tuple(places(db))
    today = words.local(now_at, household).date()
    tag = (revision(db), known_places, household, today, base_address)
    with _lock:
        known = _last.get(db.engine)
    if known is None or known[0] != tag:
        found = feed_for(db, known_places, household.zone, now_at, keep=_PARTS.get)
        text = calendar_text(
            found,
            name=household.dairy_name or "Cheese",
            host=urlsplit(base_address).hostname or "house",
            base_address=base_address,
            keep=_PARTS.get,
        )
        known = (tag, text)
        with _lock:
            _last[db.engine] = known
    return known[1]
