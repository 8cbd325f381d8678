"""The photos of a place: of itself, and of the shelves and boxes in it."""

from datetime import datetime

from sqlalchemy import Connection

from collector.records.facts import Place
from collector.records.places import places
from dashboard import words
from dashboard.household import Household
from dashboard.wheels.moves import within
from dashboard.wheels.shelf_photos import shelf_pictures
from dashboard.wheels_shown.one import Photo, photo_at

SHOWN = 12  # some two weeks of a row that is still swiped through; our choice


def place_photos(db: Connection, place: Place, now_at: datetime, household: Household) -> tuple[Photo, ...]:
    """The latest photos of a place and of what lies in it, the newest first; each says of which, and when."""
    known = {one.id: one for one in places(db)}
    rows = shelf_pictures(db, sorted(within(known.values(), place.id)), SHOWN)
    named = ((row, "" if row["place_id"] == place.id else f"{known[row['place_id']].name}, ") for row in rows)
    return tuple(photo_at(row, words.moment(row["happened_at"], now_at, household), what) for row, what in named)
