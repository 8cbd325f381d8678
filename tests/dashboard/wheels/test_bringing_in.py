"""From confirmed lines to wheels in the book."""

from zoneinfo import ZoneInfo

import pytest
from sqlalchemy import Connection

from dashboard.wheels.book import living
from dashboard.wheels.bringing_in import entries_for
from dashboard.wheels.days_typed import Habits
from dashboard.wheels.entries import put_all
from dashboard.wheels.existing import Known, read_lines
from tests.dashboard.wheels.builders import CELLAR, SHELF, an_id, day


def test_lines_become_wheels_that_stand_where_they_stand(db: Connection) -> None:
    habits = Habits(day(400).date(), ZoneInfo("UTC"))
    known = Known(places={"cellar": CELLAR, "left shelf": SHELF})
    lines = "24-07B 3 Feb 2.1 kg left shelf waxed\nB3 14 x 240 g cellar\nthe one with the scar\n"
    found = read_lines(lines, habits, known)
    entries = entries_for(found, now_at=day(400), zone="UTC", make_id=an_id)
    assert {stored.outcome for stored in put_all(db, entries, received_at=day(400))} == {"stored"}
    wheels = {wheel.code: wheel for wheel in living(db)}
    first, batch, third = wheels["24-07B"], wheels["B3"], wheels[""]
    assert (first.place_id, first.covering, first.net_g, first.age_d(habits.today)) == (SHELF, "wax", 2_100, 61)
    assert (batch.place_id, batch.pieces_left, batch.net_g) == (CELLAR, 14, pytest.approx(240))
    assert third.sheet.notes == "one with scar"
