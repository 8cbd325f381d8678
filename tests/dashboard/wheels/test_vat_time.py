"""Which time a rind note asks about."""

from datetime import timedelta
from zoneinfo import ZoneInfo

from sqlalchemy import Connection

from dashboard.wheels.bodies.doings import Looked, RindNote
from dashboard.wheels.entries import NewEntry, put_all
from dashboard.wheels.vat_time import BOUT, SAME_ROUND, around, bout_of, whole
from tests.dashboard.wheels.builders import WHEEL, a_wheel, day, new

UTC = ZoneInfo("UTC")


def keep(db: Connection, *entries: NewEntry) -> None:
    put_all(db, [new(a_wheel()), *entries], received_at=day(400))


def noted(at: float, **fields: object) -> NewEntry:
    return new(RindNote(**{"note": "crack", **fields}), at)  # type: ignore[arg-type]


def test_the_time_is_from_last_seen_clean_to_first_seen(db: Connection) -> None:
    note = noted(60)
    keep(db, new(Looked(), 40), new(Looked(), 50), note)
    found = bout_of(db, note.id, UTC)
    assert found is not None
    assert (found.wheel_id, found.kind, found.clean_known) == (WHEEL, "crack", True)
    assert (found.from_at, found.to_at) == (day(50), day(60))


def test_what_the_note_says_itself_wins(db: Connection) -> None:
    note = noted(60, first_seen_on=day(57).date(), last_clean_at=day(45))
    keep(db, new(Looked(), 50), note)
    found = bout_of(db, note.id, UTC)
    assert found is not None
    assert found.from_at == day(45)
    assert found.to_at.date() == day(57).date()


def test_a_day_of_first_seeing_before_the_last_clean_look_is_not_believed(db: Connection) -> None:
    note = noted(60, first_seen_on=day(40).date())
    keep(db, new(Looked(), 50), note)
    found = bout_of(db, note.id, UTC)
    assert found is not None
    assert (found.from_at, found.to_at) == (day(50), day(60))


def test_nobody_saw_it_clean_so_a_month_counts_or_all_its_life(db: Connection) -> None:
    late, early = noted(60), noted(10, note="weeping")
    keep(db, early, late)
    old, young = bout_of(db, late.id, UTC), bout_of(db, early.id, UTC)
    assert old is not None
    assert young is not None
    assert (old.from_at, old.clean_known) == (day(30), False)
    assert young.from_at == day(0)


def test_a_bout_begins_anew_after_the_note_was_gone(db: Connection) -> None:
    first, gone, second, third = noted(20), noted(30, gone=True), noted(60), noted(70)
    keep(db, first, gone, second, third)
    begun = {note.id: bout_of(db, note.id, UTC) for note in (first, gone, second, third)}
    assert [found and found.first_id for found in begun.values()] == [first.id, first.id, second.id, second.id]


def test_no_note_no_bout(db: Connection) -> None:
    looked = new(Looked(), 5)
    keep(db, looked)
    assert bout_of(db, looked.id, UTC) is None


def test_notes_within_a_month_count_and_a_look_of_the_day_before(db: Connection) -> None:
    note = noted(60)
    keep(db, new(Looked(), 50), note)
    found = bout_of(db, note.id, UTC)
    assert found is not None
    span = around(found, day(75))
    assert (span.sick_from_at, span.seen_from_at, span.until_at) == (day(50) - BOUT, day(60) - SAME_ROUND, day(75))
    assert around(found, day(300)).until_at == day(60) + timedelta(days=30)


def test_a_kind_is_asked_about_over_one_whole_time() -> None:
    span = whole("crack", day(1), day(90))
    assert {span.from_at, span.sick_from_at, span.seen_from_at} == {day(1)}
    assert {span.to_at, span.until_at} == {day(90)}
