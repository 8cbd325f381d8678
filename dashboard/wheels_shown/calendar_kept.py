"""The calendar's text, kept until the book, the places or the day change: phones ask for it again and again."""

from datetime import datetime
from threading import Lock
from urllib.parse import urlsplit
from weakref import WeakKeyDictionary

from sqlalchemy import Connection, Engine, func, select

from collector.records.places import places
from dashboard import words
from dashboard.household import Household
from dashboard.wheels import tables
from dashboard.wheels.calendar_feed import calendar_text, feed_for

_last: WeakKeyDictionary[Engine, tuple[object, bytes]] = WeakKeyDictionary()
_lock = Lock()


def kept_calendar(db: Connection, now_at: datetime, household: Household, base_address: str) -> bytes:
    """The calendar as it stands now; entries are only ever added, so their number says whether the book has changed."""
    known_places = places(db)
    entries = db.execute(select(func.count()).select_from(tables.entry)).scalar_one()
    tag = (entries, tuple(known_places), household, words.local(now_at, household).date(), base_address)
    with _lock:
        known = _last.get(db.engine)
    if known is None or known[0] != tag:
        found = feed_for(db, known_places, household.zone, now_at)
        text = calendar_text(
            found,
            name=household.dairy_name or "Cheese",
            host=urlsplit(base_address).hostname or "house",
            base_address=base_address,
        )
        known = (tag, text)
        with _lock:
            _last[db.engine] = known
    return known[1]
