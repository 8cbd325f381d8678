"""The demo's year of the wheel book: whole, plausible, true to the planted incidents, and written once."""

import uuid
from datetime import timedelta
from typing import Any

import pytest
from sqlalchemy import Connection, Engine, delete, func, select

from collector.demo.incidents import IncidentKind
from collector.demo.quillfold import QUILLFOLD
from collector.demo.quillfold_rooms import CELLAR
from collector.demo.scenario import World, incidents_of
from collector.records.columns import from_ms, to_ms
from collector.records.places import places
from collector.records.tables import setting, typed_reading
from collector.settings import Settings
from dashboard.api.entries import photos_folder
from dashboard.demo_book.fill import DONE, fill
from dashboard.wheels import tables
from dashboard.wheels.book import makes, stays_in, wheel_book, wheels
from dashboard.wheels.photos import photos_of
from tests.dashboard.demo_book.conftest import ANCHOR_AT, SEED

WORLD = World(QUILLFOLD, SEED, to_ms(ANCHOR_AT))


def counts(db: Connection) -> dict[str, int]:
    rows = db.execute(select(tables.entry.c.kind, func.count()).group_by(tables.entry.c.kind))
    return {row.kind: row[1] for row in rows}


def notes(db: Connection, kind: str) -> list[Any]:
    c = tables.entry.c
    rows = db.execute(select(c.wheel_id, c.happened_at, c.body).where(c.kind == "rind_note")).all()
    return [row for row in rows if row.body["note"] == kind and not row.body.get("gone")]


def test_it_holds_a_year_of_some_thirty_wheels_and_two_batches(db: Connection) -> None:
    found = wheels(db)
    whole = [wheel for wheel in found if wheel.parent_id is None]
    assert len([wheel for wheel in whole if wheel.sheet.pieces == 1]) >= 30
    assert len([wheel for wheel in whole if wheel.sheet.pieces > 1]) == 2
    assert {wheel.state for wheel in found} >= {"alive", "cut", "eaten", "given", "sold", "thrown"}
    kinds = {
        "care",
        "chore",
        "cut",
        "gear",
        "gear_check",
        "looked",
        "make",
        "moved",
        "rind_note",
        "tasting",
        "took_out",
    }
    assert kinds <= counts(db).keys()


def test_nothing_in_it_is_odd_enough_to_be_flagged(db: Connection) -> None:
    rows = db.execute(select(tables.entry.c.kind, tables.entry.c.flags)).all()
    assert [row for row in rows if row.flags] == []


def test_no_entry_lies_after_the_first_start(db: Connection) -> None:
    assert db.execute(select(func.max(tables.entry.c.happened_at))).scalar_one() < ANCHOR_AT


def test_every_id_is_a_uuid_of_version_7_that_begins_with_its_time(db: Connection) -> None:
    # RFC 9562, section 5.7: 48 bits of milliseconds since 1970, then the version.
    for row in db.execute(select(tables.entry.c.id, tables.entry.c.done_at)):
        own = uuid.UUID(row.id)
        assert own.version == 7
        assert own.int >> 80 == to_ms(row.done_at)


def test_losses_of_tommes_lie_where_trade_has_them(db: Connection) -> None:
    # Common practice, no source: a natural-rind tomme loses some 8 to 20 % in three to five months.
    gone = [w for w in wheels(db) if w.state in {"eaten", "sold", "given"} and w.covering == "bare" and not w.parent_id]
    tommes = [w.loss_pct for w in gone if w.net_g and w.net_g > 2_500 and w.loss_pct is not None]
    assert len(tommes) >= 5
    assert all(5 <= loss_pct <= 20 for loss_pct in tommes)


def test_every_make_has_a_sheet_with_its_milk(db: Connection) -> None:
    found = makes(db)
    assert len(found) == len(QUILLFOLD.makes)
    assert all(make.sheet.milks and make.sheet.heat and make.made_on for make in found)


def test_mould_follows_the_damp_fortnights_and_not_every_wheel_has_it(db: Connection) -> None:
    damp = [i for i in incidents_of(WORLD) if i.kind is IncidentKind.DAMP_SPELL]
    seen = notes(db, "black_spots")
    begun = [from_ms(incident.from_ms) for incident in damp]
    for note in seen:
        assert any(timedelta(days=5) < note.happened_at - at < timedelta(days=25) for at in begun)
    cellar = next(place.id for place in places(db) if place.name == CELLAR)
    for at in begun:
        stood = {row.wheel_id for row in stays_in(db, [cellar], at, at + timedelta(days=1))}
        sick = {note.wheel_id for note in seen if timedelta(0) < note.happened_at - at < timedelta(days=25)}
        assert sick
        assert stood - sick


def test_what_came_from_a_vat_is_on_all_its_wheels(db: Connection) -> None:
    for kind in ("yellow_red_spots", "weeping", "red_brown_spots"):
        sick = {note.wheel_id for note in notes(db, kind)}
        by_make = {wheel.make_id for wheel in wheels(db) if wheel.id in sick}
        assert len(by_make) == 1
        assert {wheel.id for wheel in wheels(db) if wheel.make_id in by_make and wheel.parent_id is None} == sick


def test_some_turns_were_missed(db: Connection) -> None:
    young = [w for w in wheels(db) if w.code == "26-07A"]
    book = wheel_book(db, young[0].id)
    assert book is not None
    turned = [e.happened_at.date() for e in book.entries if getattr(e.body, "care", "") == "turned"]
    first = min(turned)
    fortnight = {first + timedelta(days=n) for n in range(12)}
    assert 6 <= len(fortnight & set(turned)) < 12 + 1
    assert len(turned) > 20


def test_drawn_pictures_stand_for_photos(db: Connection, demo: Settings) -> None:
    found = photos_of(db, [wheel.id for wheel in wheels(db)])
    assert len(found) >= 5
    for photo in found:
        assert list(photos_folder(demo).rglob(f"{photo['content_hash']}*"))


def test_the_dial_was_read_while_wheels_stood_at_the_counter(db: Connection) -> None:
    rows = db.execute(select(typed_reading)).all()
    assert len(rows) > 20
    assert all(10 < row.temperature_c < 30 for row in rows)


def test_a_second_start_adds_nothing(demo: Settings, written: Engine) -> None:
    assert fill(demo) is False


def test_a_start_that_was_cut_off_is_carried_on_without_doubling(demo: Settings, written: Engine) -> None:
    with written.begin() as db:
        before = counts(db), db.execute(select(func.count()).select_from(typed_reading)).scalar_one()
        db.execute(delete(setting).where(setting.c.key == DONE))
    assert fill(demo, back_d=20)
    with written.begin() as db:
        after = counts(db), db.execute(select(func.count()).select_from(typed_reading)).scalar_one()
    assert after == before


@pytest.mark.parametrize("code", ["26-05B", "26-02A"])
def test_a_cut_wheel_goes_on_as_half(db: Connection, code: str) -> None:
    part = next(wheel for wheel in wheels(db) if wheel.code == f"{code}/1")
    whole = next(wheel for wheel in wheels(db) if wheel.code == code)
    assert part.parent_id == whole.id
    assert whole.state == "cut"
    assert part.start == "cut"
    assert part.net_g is not None
    assert whole.net_g is not None
    assert 0.4 < part.net_g / whole.net_g < 0.52
