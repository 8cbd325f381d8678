"""Taking in entries: once each, in any order, never refused for the state of a wheel."""

import threading
from datetime import timedelta

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import Connection, Engine, select

from collector.errors import EntryRefused
from dashboard.wheels import tables
from dashboard.wheels.bodies.doings import Care, Counted, Cut, CutPart, Ended, Lifted, Note, RindNote, Withdrawn
from dashboard.wheels.bodies.make import MakeSheet
from dashboard.wheels.bodies.sheets import OwnKind, WheelSheet
from dashboard.wheels.entries import NewEntry, put, put_all, read_entry, when_it_happened
from dashboard.wheels.refresh import rebuild
from tests.dashboard.wheels.builders import (
    CELLAR,
    MAKE,
    OTHER,
    SHELF,
    WHEEL,
    a_wheel,
    an_id,
    covered,
    day,
    moved,
    new,
    turned,
    weighed,
)

PART, SECOND = an_id(day(61)), an_id(day(62))


def keep(db: Connection, *entries: NewEntry) -> list[tuple[str, tuple[str, ...]]]:
    found = put_all(db, entries, received_at=day(400))
    return [(stored.outcome, stored.flags) for stored in found]


def wheel_row(db: Connection, wheel_id: str = WHEEL) -> dict:
    row = db.execute(select(tables.wheel).where(tables.wheel.c.id == wheel_id)).mappings().one_or_none()
    return dict(row) if row else {}


def flags_of(db: Connection, entry: NewEntry) -> list[str]:
    return db.execute(select(tables.entry.c.flags).where(tables.entry.c.id == entry.id)).scalar_one()


def derived(db: Connection) -> dict[str, list]:
    return {t.name: sorted(map(str, db.execute(select(t)).mappings().all())) for t in tables.DERIVED}


def test_an_entry_sent_twice_is_kept_once(any_book: Engine) -> None:
    entry = new(a_wheel())
    with any_book.begin() as db:
        assert put(db, entry, received_at=day(1)).outcome == "stored"
    with any_book.begin() as db:
        assert put(db, entry, received_at=day(2)).outcome == "same"
        assert len(db.execute(select(tables.entry)).all()) == 1


def test_sending_again_by_another_clock_is_the_same(db: Connection) -> None:
    entry = new(a_wheel(), sent_at=day(1))
    put(db, entry, received_at=day(1))
    assert put(db, entry.model_copy(update={"sent_at": day(3)}), received_at=day(4)).outcome == "same"


def test_the_same_id_with_other_content_is_a_conflict_and_changes_nothing(any_book: Engine) -> None:
    entry = new(a_wheel("24-07B"))
    with any_book.begin() as db:
        keep(db, entry)
        assert put(db, entry.model_copy(update={"body": a_wheel("X")}), received_at=day(1)).outcome == "conflict"
        assert wheel_row(db)["code"] == "24-07B"


def test_twins_in_one_sending_are_kept_once(db: Connection) -> None:
    entry = new(a_wheel())
    twin = entry.model_copy(update={"body": a_wheel("X")})
    assert [outcome for outcome, _ in keep(db, entry, entry, twin)] == ["stored", "same", "conflict"]


def test_two_phones_that_send_at_once_both_count(any_book: Engine) -> None:
    with any_book.begin() as db:
        keep(db, new(a_wheel(pieces=40)))
    eaten = [new(Ended(how="eaten", pieces=1), 1 + n) for n in range(20)]

    def send(entries: list[NewEntry]) -> None:
        for entry in entries:
            with any_book.begin() as db:
                put(db, entry, received_at=day(90))

    phones = [threading.Thread(target=send, args=(eaten[n::4],)) for n in range(4)]
    for phone in phones:
        phone.start()
    for phone in phones:
        phone.join()
    with any_book.begin() as db:
        assert wheel_row(db)["pieces_left"] == 20


def test_an_entry_about_a_wheel_that_was_eaten_is_kept_and_flagged(db: Connection) -> None:
    keep(db, new(a_wheel()), new(Ended(how="eaten"), 60))
    assert keep(db, new(turned(), 61)) == [("stored", ("after_end",))]
    assert wheel_row(db)["state"] == "eaten"


def test_a_tasting_of_an_eaten_wheel_is_no_question(db: Connection) -> None:
    keep(db, new(a_wheel()), new(Ended(how="eaten"), 60))
    assert keep(db, new(Note(text="the last slice"), 61)) == [("stored", ())]


def test_an_entry_that_comes_before_its_wheel_loses_its_flag_when_the_wheel_comes(db: Connection) -> None:
    early = new(turned(), 1)
    assert keep(db, early) == [("stored", ("unknown_wheel",))]
    assert wheel_row(db) == {}
    keep(db, new(a_wheel()))
    assert flags_of(db, early) == []
    assert wheel_row(db)["last"]["turned"] == int(day(1).timestamp() * 1_000)


def test_undoing_takes_an_entry_back(db: Connection) -> None:
    turn = new(turned(), 1)
    keep(db, new(a_wheel()), turn, new(Withdrawn(), 2, wheel=None, replaces=turn.id))
    assert "turned" not in wheel_row(db)["last"]
    assert len(db.execute(select(tables.entry)).all()) == 3


def test_an_undoing_that_comes_first_still_counts(db: Connection) -> None:
    turn = new(turned(), 1)
    undo = new(Withdrawn(), 2, wheel=None, replaces=turn.id)
    assert keep(db, undo) == [("stored", ("unknown_replaced",))]
    keep(db, new(a_wheel()), turn)
    assert "turned" not in wheel_row(db)["last"]
    assert flags_of(db, undo) == []


def test_a_correction_adds_and_the_first_is_still_there(db: Connection) -> None:
    first = new(weighed(2_100), 1)
    keep(db, new(a_wheel()), first)
    keep(db, new(weighed(2_010), 1, replaces=first.id))
    assert wheel_row(db)["net_g"] == 2_010
    assert len(db.execute(select(tables.entry).where(tables.entry.c.kind == "weighing")).all()) == 2


def test_a_correction_can_move_an_entry_to_the_right_wheel(db: Connection) -> None:
    wrong = new(weighed(2_100), 1)
    keep(db, new(a_wheel("A")), new(a_wheel("B"), wheel=OTHER), wrong)
    keep(db, new(weighed(2_100), 1, wheel=OTHER, replaces=wrong.id))
    assert wheel_row(db)["net_g"] is None
    assert wheel_row(db, OTHER)["net_g"] == 2_100


def test_of_two_corrections_both_are_flagged(db: Connection) -> None:
    first = new(weighed(2_100), 1)
    one, two = (new(weighed(2_000 + n), 1, 1 + n, replaces=first.id) for n in range(2))
    keep(db, new(a_wheel()), first, one)
    assert keep(db, two) == [("stored", ("corrected_twice",))]
    assert flags_of(db, one) == ["corrected_twice"]
    assert wheel_row(db)["net_g"] == 2_001


def test_a_used_code_is_kept_and_flagged_on_the_younger_wheel(db: Connection) -> None:
    older, younger = new(a_wheel("7")), new(a_wheel("7"), 1, wheel=OTHER)
    assert keep(db, younger, older) == [("stored", ("code_taken",)), ("stored", ())]


def test_a_mended_code_frees_the_other_wheel(db: Connection) -> None:
    older, younger = new(a_wheel("7")), new(a_wheel("7"), 1, wheel=OTHER)
    keep(db, older, younger)
    assert flags_of(db, younger) == ["code_taken"]
    keep(db, new(WheelSheet(code="8"), 2))
    assert flags_of(db, younger) == []


def test_sheets_carry_only_what_changed(db: Connection) -> None:
    keep(db, new(a_wheel("7", pieces=3, notes="first")), new(WheelSheet(notes="second"), 1))
    said = {"kind": "wheel", "code": "7", "pieces": 3, "notes": "second", "made_on": "2025-03-01"}
    assert wheel_row(db)["sheet"] == said


def test_a_make_is_filled_in_through_the_day(db: Connection) -> None:
    steps = [MakeSheet(code="24-07", heat="raw"), MakeSheet(rennet_at=day(0, 1)), MakeSheet(cut_at=day(0, 2))]
    keep(db, *(new(step, 0, n, wheel=None, make_id=MAKE) for n, step in enumerate(steps)))
    sheet = db.execute(select(tables.make.c.sheet)).scalar_one()
    times = {"rennet_at": "2025-03-01T09:00:00Z", "cut_at": "2025-03-01T10:00:00Z"}
    assert sheet == {"kind": "make", "code": "24-07", "heat": "raw", **times}


def test_both_parts_of_a_cut_go_on_by_themselves(db: Connection) -> None:
    parts = (CutPart(wheel_id=PART, weight_g=900, face="wax"), CutPart(wheel_id=SECOND, code="mine", weight_g=800))
    keep(
        db,
        new(a_wheel()),
        new(moved(spot="top"), place_id=SHELF),
        new(covered("cloth"), 10),
        new(weighed(2_000, start="cave"), 10),
        new(Cut(parts=parts), 60),
        new(weighed(810, wet=False), 90, wheel=PART),
    )
    assert wheel_row(db)["state"] == "cut"
    part = wheel_row(db, PART)
    assert (part["code"], part["parent_id"], part["place_id"], part["covering"]) == ("24-07B/1", WHEEL, SHELF, "cloth")
    assert (part["start"], part["start_g"], part["loss_pct"]) == ("cut", 900, pytest.approx(10))
    assert wheel_row(db, SECOND)["code"] == "mine"
    assert part["made_on"] == day(0).date()


def test_undoing_a_cut_brings_the_wheel_back_and_takes_its_parts_away(db: Connection) -> None:
    cut = new(Cut(parts=(CutPart(wheel_id=PART),)), 60)
    keep(db, new(a_wheel()), cut, new(turned(), 61, wheel=PART))
    undo = new(Withdrawn(), 62, wheel=None, replaces=cut.id)
    keep(db, undo)
    assert wheel_row(db)["state"] == "alive"
    assert wheel_row(db, PART) == {}


def test_a_ring_of_cuts_ends(db: Connection) -> None:
    keep(db, new(a_wheel("A")), new(Cut(parts=(CutPart(wheel_id=OTHER),)), 1))
    assert keep(db, new(Cut(parts=(CutPart(wheel_id=WHEEL),)), 2, wheel=OTHER))[0][0] == "stored"


def test_pieces_are_counted_down_and_one_that_differs_is_lifted_out(db: Connection) -> None:
    keep(
        db,
        new(a_wheel("B3", pieces=14, piece_g=240)),
        new(Ended(how="eaten", pieces=2), 20),
        new(Lifted(wheel_id=PART), 21),
        new(Ended(how="given", pieces=1, to_whom="a neighbour"), 22),
    )
    assert (wheel_row(db)["pieces_left"], wheel_row(db)["state"]) == (10, "alive")
    assert wheel_row(db, PART)["code"] == "B3+"
    assert keep(db, new(Ended(how="sold", pieces=11), 23)) == [("stored", ("too_many_pieces",))]
    keep(db, new(Counted(pieces=4), 22, 1))
    assert wheel_row(db)["pieces_left"] == 0


def test_a_batch_is_weighed_by_the_piece(db: Connection) -> None:
    keep(db, new(a_wheel(pieces=14)), new(weighed(1_200, pieces=5), 1), new(weighed(14 * 230), 8))
    assert wheel_row(db)["net_g"] == pytest.approx(230)


def test_a_place_that_nobody_knows_is_kept_and_flagged(db: Connection) -> None:
    assert keep(db, new(a_wheel()), new(moved(), place_id=an_id())) == [("stored", ()), ("stored", ("unknown_place",))]


def test_a_word_of_ones_own_is_known_once_it_is_added(db: Connection) -> None:
    note = new(RindNote(note="velvet"), 3)
    keep(db, new(a_wheel()))
    assert keep(db, note) == [("stored", ("unknown_word",))]
    keep(db, new(OwnKind(of="rind_note", name="velvet", word="velvet"), wheel=None))
    assert keep(db, new(RindNote(note="velvet"), 4)) == [("stored", ())]


def test_where_it_has_been_is_written_down(db: Connection) -> None:
    keep(
        db,
        new(a_wheel()),
        new(moved(), place_id=SHELF),
        new(covered("wax"), 10),
        new(moved(), 20, place_id=CELLAR),
        new(Ended(how="sold"), 30),
    )
    c = tables.stay.c
    rows = db.execute(select(c.from_at, c.to_at, c.place_id, c.covering).order_by(c.number)).all()
    assert rows == [
        (day(0), day(10), SHELF, "bare"),
        (day(10), day(20), SHELF, "wax"),
        (day(20), day(30), CELLAR, "wax"),
    ]


def entries_of_a_year() -> list[NewEntry]:
    first = new(weighed(2_100), 1)
    return [
        new(a_wheel()),
        first,
        new(a_wheel("B", pieces=6), wheel=OTHER),
        new(moved(), 0, 1, place_id=SHELF),
        new(weighed(2_050), 1, replaces=first.id),
        new(turned(nothing_new=True), 2),
        new(Lifted(wheel_id=SECOND), 30, wheel=OTHER),
        new(Cut(parts=(CutPart(wheel_id=PART, weight_g=1_000),)), 60),
        new(Ended(how="eaten", pieces=1), 61, wheel=OTHER),
        new(weighed(950), 80, wheel=PART),
        new(Care(care="brushed"), 90, wheel=SECOND),
        new(MakeSheet(heat="raw"), wheel=None, make_id=MAKE),
    ]


YEAR = entries_of_a_year()


@settings(max_examples=25, suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(order=st.permutations(range(len(YEAR))), halves=st.integers(0, len(YEAR)))
def test_any_order_of_arrival_ends_in_the_same_book(book: Engine, order: list[int], halves: int) -> None:
    with book.connect() as connection, connection.begin() as transaction:
        put_all(connection, YEAR, received_at=day(400))
        expected, flags = derived(connection), _all_flags(connection)
        transaction.rollback()
    shuffled = [YEAR[n] for n in order]
    with book.connect() as connection, connection.begin() as transaction:
        put_all(connection, shuffled[:halves], received_at=day(400))
        for entry in shuffled[halves:]:
            put(connection, entry, received_at=day(400))
        assert (derived(connection), _all_flags(connection)) == (expected, flags)
        transaction.rollback()


def _all_flags(db: Connection) -> list:
    return sorted((row.id, row.flags) for row in db.execute(select(tables.entry.c.id, tables.entry.c.flags)))


def test_everything_can_be_made_anew(db: Connection) -> None:
    put_all(db, YEAR, received_at=day(400))
    before = derived(db)
    rebuild(db)
    assert derived(db) == before


def test_a_small_skew_is_the_way_through_the_network() -> None:
    assert when_it_happened(day(1), day(1, 0.02), day(1, 0.03)) == (day(1), [])


def test_a_phone_that_is_behind_is_set_right() -> None:
    happened_at, flags = when_it_happened(day(1), day(1, 1), day(1, 3))
    assert (happened_at, flags) == (day(1, 2), ["clock_mended"])


def test_a_typed_time_is_not_moved_by_the_phones_clock() -> None:
    assert when_it_happened(day(1), day(1, 1), day(1, 3), typed=True) == (day(1), [])


def test_an_entry_from_the_future_is_kept_at_the_time_it_came() -> None:
    assert when_it_happened(day(9), None, day(1)) == (day(1), ["clock_ahead"])


def test_an_entry_of_1970_is_kept_at_the_time_it_came() -> None:
    long_ago = day(0) - timedelta(days=55 * 365)
    assert when_it_happened(long_ago, None, day(1)) == (day(1), ["clock_wrong"])


@pytest.mark.parametrize(
    ("change", "field", "words"),
    [
        ({"id": "7"}, "id", "got 7"),
        ({"id": "0194f9c2-1111-4222-8333-444444444444"}, "id", "pattern"),  # version 4: RFC 9562, section 5.4
        ({"body": {"kind": "weighing", "scale_g": -310}}, "body.weighing.scale_g", "or equal to 1, got -310"),
        ({"body": {"kind": "weighing", "scale_g": "NaN"}}, "body.weighing.scale_g", "finite"),
        ({"body": {"kind": "weighing", "scale_g": 500, "tare_g": 600}}, "body.weighing", "above the board's 600 g"),
        ({"body": {"kind": "sung to"}}, "body", "sung to"),
        ({"body": {"kind": "care", "care": "turned", "how": 1}}, "body.care.how", "Extra inputs"),
        ({"done_at": "2025-03-01T08:00:00"}, "done_at", "timezone"),
        ({"wheel_id": None}, "entry", "a care needs wheel_id"),
        ({"body": {"kind": "withdrawn"}}, "entry", "an undoing needs replaces"),
    ],
)  # fmt: skip
def test_what_is_no_entry_is_refused_with_field_and_value(change: dict, field: str, words: str) -> None:
    sent = new(turned()).model_dump(mode="json") | change
    with pytest.raises(EntryRefused, match=words) as refused:
        read_entry(sent)
    assert refused.value.field == field


def test_an_entry_goes_over_the_wire_and_back() -> None:
    entry = new(a_wheel("7"))
    assert read_entry(entry.model_dump(mode="json", exclude_unset=True)) == entry
