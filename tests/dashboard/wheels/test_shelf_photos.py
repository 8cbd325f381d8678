"""A photo of a whole shelf: who stood there then was looked at, whatever comes in which order."""

from datetime import timedelta

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import Connection, Engine, insert, select

from collector.errors import EntryRefused
from dashboard.lookback_read import care_times
from dashboard.wheels import tables
from dashboard.wheels.bodies.doings import Ended, RindNote, ShelfPhoto, Withdrawn
from dashboard.wheels.entries import NewEntry, put, put_all, read_entry
from dashboard.wheels.history import seen_too
from dashboard.wheels.refresh import rebuild
from dashboard.wheels.shelf_photos import newest_pictures, photos_seen_in, seen_in, seen_on_shelves, shelf_pictures
from tests.dashboard.wheels.builders import CELLAR, OTHER, SHELF, WHEEL, a_wheel, an_id, day, moved, new, turned

PHOTO, LATER = an_id(day(5)), an_id(day(9))
MS = timedelta(milliseconds=1)


def photographed(at: float, hour: float = 0, place: str = SHELF, photo: str = PHOTO, **more: object) -> NewEntry:
    return new(ShelfPhoto(photos=(photo,)), at, hour, wheel=None, place_id=place, **more)


def two_wheels() -> list[NewEntry]:
    """One that stays on the shelf, one that leaves it on day 10."""
    return [
        new(a_wheel()),
        new(moved(), place_id=SHELF),
        new(a_wheel("B"), wheel=OTHER),
        new(moved(), wheel=OTHER, place_id=SHELF),
        new(moved(), 10, wheel=OTHER, place_id=CELLAR),
    ]


def keep(db: Connection, *entries: NewEntry) -> None:
    put_all(db, entries, received_at=day(400))


def looked(db: Connection, wheel_id: str = WHEEL, name: str = "looked") -> int | None:
    last: dict[str, int] = db.execute(select(tables.wheel.c.last).where(tables.wheel.c.id == wheel_id)).scalar_one()
    return last.get(name)


def ms(at: float, hour: float = 0) -> int:
    return int(day(at, hour).timestamp() * 1_000)


def test_who_stood_there_then_was_looked_at_but_nobody_said_clean(any_book: Engine) -> None:
    with any_book.begin() as db:
        keep(db, *two_wheels(), photographed(5), photographed(20))
        assert (looked(db), looked(db, OTHER)) == (ms(20), ms(5))
        assert looked(db, WHEEL, "clean") is None
        assert [e.happened_at for e in seen_in(db, OTHER)] == [day(5)]


def test_a_photo_of_the_cave_is_none_of_its_shelf(db: Connection) -> None:
    keep(db, *two_wheels(), photographed(5, place=CELLAR))
    assert looked(db) is None


def test_a_wheel_that_is_gone_or_comes_later_was_not_seen(db: Connection) -> None:
    keep(db, *two_wheels(), new(Ended(how="eaten"), 6), photographed(7), photographed(10, place=SHELF, photo=LATER))
    assert looked(db) is None
    assert looked(db, OTHER) == ms(7)


def test_a_later_look_stays_the_last_one(db: Connection) -> None:
    keep(db, *two_wheels(), new(turned(nothing_new=True), 8), photographed(5))
    assert (looked(db), looked(db, WHEEL, "clean")) == (ms(8), ms(8))


def test_taken_back_it_was_not_looked_at(db: Connection) -> None:
    photo = photographed(5)
    keep(db, *two_wheels(), photo)
    keep(db, new(Withdrawn(), 6, wheel=None, place_id=SHELF, replaces=photo.id))
    assert looked(db) is None
    assert seen_in(db, WHEEL) == []


def test_another_time_sees_other_wheels(db: Connection) -> None:
    photo = photographed(12)
    keep(db, *two_wheels(), photo)
    assert looked(db, OTHER) is None
    keep(db, photographed(5, replaces=photo.id))
    assert (looked(db), looked(db, OTHER)) == (ms(5), ms(5))


def test_a_move_that_comes_late_sets_right_who_was_seen(db: Connection) -> None:
    keep(db, *two_wheels(), photographed(5))
    keep(db, new(moved(), 3, wheel=OTHER, place_id=CELLAR))
    assert looked(db, OTHER) is None


def in_two_corrections() -> list[NewEntry]:
    photo = photographed(4)
    corrections = [photographed(12, replaces=photo.id), photographed(5, replaces=photo.id)]
    note = new(RindNote(note="crack"), 2, wheel=OTHER)
    return [*two_wheels(), note, photo, *corrections, photographed(15, place=CELLAR)]


EVERY = in_two_corrections()


@settings(max_examples=8, suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(order=st.permutations(range(len(EVERY))))
def test_any_order_of_arrival_sees_the_same_wheels(book: Engine, order: list[int]) -> None:
    def told(db: Connection) -> list[object]:
        return [sorted(map(str, db.execute(select(t)).mappings().all())) for t in (tables.wheel, tables.photo_ref)]

    with book.connect() as db, db.begin() as transaction:
        put_all(db, EVERY, received_at=day(400))
        expected = told(db)
        transaction.rollback()
    with book.connect() as db, db.begin() as transaction:
        for number in order:
            put(db, EVERY[number], received_at=day(400))
        assert told(db) == expected
        rebuild(db)
        assert told(db) == expected
        transaction.rollback()


def test_without_a_photo_or_a_place_it_is_refused() -> None:
    sent = {"id": an_id(), "done_at": day(1).isoformat(), "body": {"kind": "shelf_photo"}}
    with pytest.raises(EntryRefused, match="needs photos"):
        read_entry({**sent, "place_id": SHELF})
    with pytest.raises(EntryRefused, match="needs place_id"):
        read_entry({**sent, "body": {"kind": "shelf_photo", "photos": [PHOTO]}})


def test_its_pictures_stand_with_the_place_and_with_each_wheel(any_book: Engine) -> None:
    with any_book.begin() as db:
        for id_, sign in ((PHOTO, "a"), (LATER, "b")):
            sizes = {"width": 40, "height": 30, "bytes": 900, "received_at": day(9)}
            hashes = dict.fromkeys(("content_hash", "small_hash", "source_hash"), sign * 64)
            db.execute(insert(tables.photo).values(id=id_, **hashes, **sizes))
        keep(db, *two_wheels(), photographed(5), photographed(12, photo=LATER))
        assert [row["id"] for row in photos_seen_in(db, WHEEL)] == [PHOTO, LATER]
        assert [row["id"] for row in photos_seen_in(db, OTHER)] == [PHOTO]
        assert [row["id"] for row in shelf_pictures(db, [SHELF, CELLAR], 5)] == [LATER, PHOTO]
        assert {place: row["id"] for place, row in newest_pictures(db).items()} == {SHELF: LATER}


def test_vat_or_cave_and_look_back_count_it_as_a_look(db: Connection) -> None:
    keep(db, *two_wheels(), photographed(5))
    assert seen_on_shelves(db, day(5), day(5)) == {WHEEL, OTHER}
    assert seen_on_shelves(db, day(5) + MS, day(30)) == set()
    assert care_times(db, [WHEEL])["looked"] == {WHEEL: [ms(5)]}


def test_seen_too_takes_the_later_of_both() -> None:
    assert seen_too({"turned": day(1)}, None) == {"turned": day(1)}
    assert seen_too({"turned": day(1)}, day(2)) == {"turned": day(1), "looked": day(2)}
    assert seen_too({"looked": day(3)}, day(2)) == {"looked": day(3)}
