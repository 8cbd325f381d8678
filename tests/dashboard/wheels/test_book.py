"""The book as pages read it."""

from datetime import date
from zoneinfo import ZoneInfo

from sqlalchemy import Connection

from dashboard.wheels import tables
from dashboard.wheels.bodies.base import Body
from dashboard.wheels.bodies.doings import Chore, Cut, CutPart, Ended, GearCheck, Lifted, Tasting, Withdrawn
from dashboard.wheels.bodies.make import Added, MakeSheet, Milk
from dashboard.wheels.bodies.sheets import GearSheet, OwnKind, StyleSheet
from dashboard.wheels.book import (
    chores_done,
    due_of,
    find,
    gear,
    gear_history,
    living,
    makes,
    own_words,
    stays_in,
    styles,
    weight_books,
    wheel_book,
)
from dashboard.wheels.entries import NewEntry, put_all
from dashboard.wheels.family import everyone_with, make_again, makes_with_milk, milk_words, wheels_of
from dashboard.wheels.kinds.styles import STYLES
from dashboard.wheels.labels_given import give_label
from tests.dashboard.wheels.builders import (
    BOARD,
    CELLAR,
    MAKE,
    OTHER,
    SHELF,
    STYLE,
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

PART = an_id(day(61))
PARIS = ZoneInfo("Europe/Paris")


def keep(db: Connection, *entries: NewEntry) -> None:
    put_all(db, entries, received_at=day(400))


def about(body: Body, at: float = 0, **refs: str) -> NewEntry:
    return new(body, at, wheel=None, **refs)


def test_living_wheels_stand_in_the_order_of_their_shelves(db: Connection) -> None:
    ids = [an_id(day(n)) for n in range(4)]
    for n, wheel_id in enumerate(ids):
        keep(db, new(a_wheel(f"W{n}"), wheel=wheel_id), new(moved(position=9 - n), wheel=wheel_id, place_id=SHELF))
    keep(db, new(Ended(how="eaten"), 9, wheel=ids[1]))
    assert [wheel.code for wheel in living(db)] == ["W3", "W2", "W0"]


def test_a_wheel_is_found_by_its_own_code_and_by_its_label(db: Connection) -> None:
    keep(db, new(a_wheel("24-07B")))
    label = give_label(db, "wheel", WHEEL, day(1))
    assert [wheel.id for wheel in find(db, " 24-07B ")] == [WHEEL]
    assert [wheel.id for wheel in find(db, label.lower())] == [WHEEL]
    assert find(db, "ZZZZZZ") == []


def test_a_wheel_with_all_its_life(db: Connection) -> None:
    keep(
        db,
        new(a_wheel()),
        new(moved(), place_id=SHELF),
        new(weighed(2_000, start="cave")),
        new(covered("coat", coats=2), 9),
        new(weighed(1_900), 30),
        new(Cut(parts=(CutPart(wheel_id=PART),)), 60),
    )
    found = wheel_book(db, WHEEL)
    words = [(mark.lane, mark.word) for mark in found.marks]
    assert words == [
        ("place", "moved"),
        ("weighing", "weighed, into the cave"),
        ("covering", "2 coats"),
        ("weighing", "weighed"),
        ("other", "cut, 1 part goes on"),
    ]
    assert round(found.marks[3].loss_pct, 6) == 5
    assert [part.id for part in found.parts] == [PART]
    assert wheel_book(db, PART).wheel.parent_id == WHEEL
    assert wheel_book(db, an_id()) is None


def test_care_is_due_by_the_styles_plan_in_the_households_days(db: Connection) -> None:
    keep(db, about(STYLES["tomme"], style_id=STYLE), new(a_wheel(style_id=STYLE)), new(turned(), 4))
    wheel, style = living(db)[0], styles(db)[0]
    found = due_of(wheel, style, date(2025, 3, 8), PARIS)
    assert (found[0].care, found[0].on, found[0].missed) == ("weighed", date(2025, 3, 1), 1)
    assert next(d for d in found if d.care == "turned").missed == 2
    assert due_of(wheel, None, date(2025, 3, 8), PARIS) == []


def test_a_wheel_of_unknown_age_is_planned_for_from_when_it_came(db: Connection) -> None:
    keep(db, about(STYLES["tomme"], style_id=STYLE), new(a_wheel(style_id=STYLE, made_on=None), 100))
    found = due_of(living(db)[0], styles(db)[0], day(100).date(), PARIS)
    assert min(d.on for d in found) == day(100).date()
    assert living(db)[0].age_d(day(200).date()) is None


def test_gear_has_a_history_that_care_refers_to(db: Connection) -> None:
    brine = an_id()
    keep(
        db,
        about(GearSheet(gear="brine", name="blue tub"), gear_id=brine, place_id=CELLAR),
        about(GearSheet(gear="board", name="B4", tare_g=650), gear_id=BOARD),
        about(GearCheck(strength_pct=18.5, ph=5.2), 3, gear_id=brine),
        new(a_wheel()),
        new(turned(), 4, gear_id=brine),
        about(GearSheet(tare_g=672), 9, gear_id=BOARD),
    )
    assert [(g.name, g.sheet.tare_g, g.place_id) for g in gear(db)] == [("B4", 672, None), ("blue tub", None, CELLAR)]
    assert [e.kind for e in gear_history(db, brine)] == ["gear_check", "care"]


def test_chores_are_remembered_by_place_and_an_undone_one_is_not(db: Connection) -> None:
    again = about(Chore(chore="humidifier_filled", amount_l=2), 5, place_id=CELLAR)
    keep(db, about(Chore(chore="humidifier_filled"), 1, place_id=CELLAR), again)
    keep(db, about(Chore(chore="defrosted"), 2, place_id=SHELF))
    assert chores_done(db) == {(CELLAR, "humidifier_filled"): day(5), (SHELF, "defrosted"): day(2)}
    keep(db, about(Withdrawn(), 6, replaces=again.id))
    assert chores_done(db, CELLAR) == {(CELLAR, "humidifier_filled"): day(1)}


def test_who_stood_where_within_a_span(db: Connection) -> None:
    keep(db, new(a_wheel()), new(moved(), place_id=SHELF), new(moved(), 10, place_id=CELLAR))
    keep(db, new(a_wheel("B"), 5, wheel=OTHER), new(moved(), 5, wheel=OTHER, place_id=SHELF))
    assert [row["wheel_id"] for row in stays_in(db, [SHELF], day(2), day(4))] == [WHEEL]
    assert [row["wheel_id"] for row in stays_in(db, [SHELF], day(9), day(11))] == [WHEEL, OTHER]
    assert [row["wheel_id"] for row in stays_in(db, [SHELF], day(10), day(11))] == [OTHER]


def a_vat() -> MakeSheet:
    return MakeSheet(
        code="24-07",
        heat="raw",
        milks=(Milk(species="goat", farm="upper farm", lot="7"),),
        rennet=Added(name="calf", amount="3 ml"),
        rennet_at=day(0),
    )


def test_everyone_who_has_a_piece_of_this_milk(db: Connection) -> None:
    keep(
        db,
        about(a_vat(), make_id=MAKE),
        new(a_wheel(make_id=MAKE)),
        new(a_wheel("B", make_id=MAKE, pieces=6), wheel=OTHER),
        new(Cut(parts=(CutPart(wheel_id=PART),), rest="sold", rest_g=400, to_whom="the inn"), 60),
        new(Ended(how="given", to_whom="an aunt", amount_g=800), 70, wheel=PART),
        new(Ended(how="given", pieces=2, to_whom="a neighbour"), 20, wheel=OTHER),
        new(Ended(how="eaten", pieces=1), 21, wheel=OTHER),
    )
    found = [(piece.to_whom, piece.how, piece.pieces, piece.amount_g) for piece in everyone_with(db, MAKE)]
    assert found == [
        ("an aunt", "given", None, 800),
        ("the inn", "sold", None, 400),
        ("a neighbour", "given", 2, None),
    ]
    assert len(wheels_of(db, MAKE)) == 3


def test_a_make_made_again_brings_the_last_next_time_and_the_tastings(db: Connection) -> None:
    keep(
        db,
        about(a_vat(), make_id=MAKE),
        new(a_wheel(make_id=MAKE)),
        new(Tasting(verdict=3, next_time="cut the curd smaller"), 90),
        new(Tasting(verdict=4), 180),
    )
    again = make_again(db, MAKE)
    assert again.next_time == "cut the curd smaller"
    assert [t.tasting.verdict for t in again.tastings] == [4, 3]
    assert (again.sheet.heat, again.sheet.rennet_at, again.sheet.code) == ("raw", None, "")
    assert make_again(db, an_id()) is None


def test_makes_are_found_by_milk(db: Connection) -> None:
    keep(db, about(a_vat(), make_id=MAKE), about(MakeSheet(milks=(Milk(),)), make_id=OTHER))
    assert makes_with_milk(db, "goat") == [MAKE]
    assert makes_with_milk(db, "cow") == [OTHER]
    assert milk_words(makes(db, tables.make.c.id == MAKE)[0].sheet) == ["goat upper farm 7"]


def test_pieces_lifted_out_belong_to_the_make(db: Connection) -> None:
    keep(db, new(a_wheel(make_id=MAKE, pieces=6)), new(Lifted(wheel_id=PART), 3))
    assert {wheel.id for wheel in wheels_of(db, MAKE)} == {WHEEL, PART}


def test_own_words_are_the_households(db: Connection) -> None:
    keep(db, about(OwnKind(of="rind_note", name="velvet", word="Velvet")))
    assert own_words(db) == {("rind_note", "velvet"): "Velvet"}


def test_a_style_is_changed_by_saying_what_changed(db: Connection) -> None:
    keep(db, about(STYLES["tomme"], style_id=STYLE), about(StyleSheet(ripe_from_d=75), 3, style_id=STYLE))
    assert (styles(db)[0].sheet.ripe_from_d, styles(db)[0].sheet.ripe_to_d) == (75, 180)


def test_books_of_weight_tell_the_same_losses_and_ends_as_whole_books_in_the_order_asked_for(db: Connection) -> None:
    parts = (CutPart(wheel_id=PART, weight_g=900),)
    kept = [new(a_wheel()), new(a_wheel("B"), wheel=OTHER), new(moved(), 1, place_id=CELLAR), new(covered("oil"), 30)]
    kept += [new(weighed(2_000 - 10 * n, start="cave" if n == 0 else None), 10 * n + 2) for n in range(6)]
    kept += [new(turned(), n) for n in range(3, 50)] + [new(Tasting(verdict=4), 40)]
    wrong = new(weighed(3_000), 51)
    gone = [wrong, new(Withdrawn(), 52, replaces=wrong.id), new(Cut(parts=parts), 61)]
    keep(db, *kept, *gone, new(weighed(880), 70, wheel=PART))
    asked = [PART, OTHER, WHEEL, an_id(day(300))]
    found = weight_books(db, asked)
    assert [book.wheel.id for book in found] == [PART, OTHER, WHEEL]
    for book in found:
        whole = wheel_book(db, book.wheel.id)
        assert whole is not None
        for fact in ("losses", "starts", "counted", "weights"):
            assert getattr(book.history, fact) == getattr(whole.history, fact)
        assert {mark.kind for mark in book.marks} <= {"weighing", "tasting", "covered", "cut", "wheel"}
    assert len(found[2].history.losses) == 6
