"""What the entries of a wheel say together."""

from dashboard.wheels.bodies.doings import Cut, CutPart, LeftMissed, Looked, RindNote, Tasting
from dashboard.wheels.bodies.sheets import WheelSheet
from dashboard.wheels.history import age_d, clean_before, history_of, is_alive, last_done, open_notes, was_cut
from tests.dashboard.wheels.builders import (
    FIRST_DAY,
    OTHER,
    SHELF,
    WHEEL,
    a_wheel,
    covered,
    day,
    moved,
    noted,
    turned,
    weighed,
)


def test_turning_alone_is_not_looking() -> None:
    last = last_done([noted(turned(), 1), noted(turned(nothing_new=True), 2), noted(turned(), 3)])
    assert last == {"begun": day(1), "turned": day(3), "looked": day(2), "clean": day(2)}


def test_a_rind_note_is_a_look_but_no_clean_one() -> None:
    last = last_done([noted(Looked(), 1), noted(RindNote(note="cat_hair"), 5), noted(Looked(nothing_new=False), 6)])
    assert (last["looked"], last["clean"]) == (day(6), day(1))


def test_weighings_and_tastings_are_remembered() -> None:
    last = last_done([noted(weighed(2_000), 3), noted(Tasting(verdict=4), 90)])
    assert (last["weighed"], last["tasted"]) == (day(3), day(90))


def test_missed_care_that_was_left_is_not_done() -> None:
    last = last_done([noted(LeftMissed(cares=("turned",)), 9), noted(LeftMissed(), 12)])
    assert last == {"begun": day(9), "left:turned": day(9), "left:*": day(12)}


def test_when_a_wheel_was_last_clean_is_filled_in_from_the_rounds() -> None:
    note = noted(RindNote(note="cat_hair"), 20)
    entries = [noted(Looked(), 8), noted(turned(nothing_new=True), 12), noted(turned(), 18), note, noted(Looked(), 30)]
    assert clean_before(entries, note) == day(12)
    assert clean_before(entries, noted(RindNote(note="crack", last_clean_at=day(3)), 20)) == day(3)
    assert clean_before([note], note) is None


def test_a_part_carries_on_its_parents_sheet_place_and_covering() -> None:
    parts = (CutPart(wheel_id=OTHER, weight_g=950, face="oil"), CutPart(wheel_id=SHELF, covering="barrier_bag"))
    parent = history_of(
        [
            noted(a_wheel("7", style_id=SHELF, pieces=1)),
            noted(moved(spot="top"), place_id=SHELF),
            noted(covered("cloth"), 9),
            noted(Cut(parts=parts), 60),
        ]
    )
    assert was_cut(parent)
    assert not is_alive(parent)
    origin = parent.origins[OTHER]
    assert (origin.parent_id, origin.at, origin.weight_g, origin.face) == (WHEEL, day(60), 950, "oil")
    part = history_of([], origin)
    assert (part.known, part.sheet.code, part.sheet.style_id, part.sheet.made_on) == (
        True,
        "7/1",
        SHELF,
        FIRST_DAY.date(),
    )
    assert (part.now.place_id, part.now.spot, part.now.covering, part.now.from_at) == (SHELF, "top", "cloth", day(60))
    assert parent.origins[SHELF].begun.covering == "barrier_bag"
    assert part.last == {"begun": day(60)}


def test_a_part_can_be_renamed() -> None:
    parent = history_of([noted(a_wheel("7")), noted(Cut(parts=(CutPart(wheel_id=OTHER),)), 60)])
    part = history_of([noted(WheelSheet(code="7 half"), 61, wheel=OTHER)], parent.origins[OTHER])
    assert part.sheet.code == "7 half"


def test_age_counts_days_and_is_unknown_without_a_day_of_making() -> None:
    assert age_d(day(0).date(), day(90).date()) == 90
    assert age_d(day(5).date(), day(0).date()) == 0
    assert age_d(None, day(0).date()) is None


def test_a_rind_note_is_open_until_somebody_says_it_is_gone() -> None:
    hair, again = noted(RindNote(note="cat_hair"), 5), noted(RindNote(note="cat_hair", how_bad=2), 9)
    crack, gone = noted(RindNote(note="crack"), 7), noted(RindNote(note="cat_hair", gone=True), 20)
    assert open_notes([hair, crack, again]) == {"cat_hair": day(5), "crack": day(7)}
    assert open_notes([hair, crack, again, gone]) == {"crack": day(7)}
