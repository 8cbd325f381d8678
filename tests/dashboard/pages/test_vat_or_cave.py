"""Vat or cave?, opened from a rind note and from a kind of note."""

from typing import Any

import pytest
from fastapi.testclient import TestClient
from sqlalchemy import Connection, Engine

from collector.records.columns import new_id
from dashboard.wheels.bodies.doings import Care, Looked, Moved, RindNote, Withdrawn
from dashboard.wheels.bodies.make import Added, MakeSheet, Milk
from dashboard.wheels.bodies.sheets import GearSheet, OwnKind, WheelSheet
from tests.dashboard.book_kept import enter
from tests.dashboard.dairy import a_place
from tests.dashboard.pages.test_caves import words_of

KINDS = "/rind/kinds"
MAKES = ("M1", "M2", "M3")
LIVED_D = 40


@pytest.fixture
def caves(engine: Engine) -> dict[str, str]:
    with engine.begin() as db:
        return {"fridge": a_place(db, "Lower fridge"), "cellar": a_place(db, "Old cellar")}


def three_makes(db: Connection, caves: dict[str, str], **sheets: Any) -> dict[str, str]:
    """Three makes of four wheels each, half of them in the fridge and half in the cellar; wheel id by code."""
    found: dict[str, str] = {}
    for code in MAKES:
        make_id = new_id()
        enter(db, MakeSheet(code=code, **sheets.get(code, {})), LIVED_D, make_id=make_id)
        for number in range(1, 5):
            wheel_id = found[f"{code}-{number}"] = new_id()
            enter(db, WheelSheet(code=f"{code}-{number}", make_id=make_id), LIVED_D, wheel_id=wheel_id)
            place_id = caves["fridge" if number < 3 else "cellar"]
            enter(db, Moved(), LIVED_D, wheel_id=wheel_id, place_id=place_id)
            enter(db, Looked(), 20, wheel_id=wheel_id)
    return found


def see(db: Connection, wheels: dict[str, str], sick: tuple[str, ...], note: str = "black_spots") -> dict[str, str]:
    """Five days ago some had it; four days ago all the others were looked at. Note id by code."""
    notes = {code: enter(db, RindNote(note=note), 5, wheel_id=wheels[code]) for code in sick}
    for code in wheels.keys() - notes.keys():
        enter(db, Looked(), 4, wheel_id=wheels[code])
    return notes


def path_of(note_id: str) -> str:
    return f"/rind/notes/{note_id}/vat-or-cave"


def test_a_sick_make_points_to_the_vat_and_the_square_counts_the_others(
    guest: TestClient, engine: Engine, caves: dict[str, str]
) -> None:
    with engine.begin() as db:
        wheels = three_makes(db, caves)
        notes = see(db, wheels, ("M1-1", "M1-2", "M1-3", "M1-4"))
    said = words_of(guest.get(path_of(notes["M1-1"])).text)
    assert "Black spots on M1-1" in said
    assert "It goes with the vat." in said
    assert "Of the same make in other places 2 of 2; of other makes in the same place 0 of 4; of all the others" in said
    assert "This make 1 of 1 has it: M1-2 2 of 2 has it: M1-3, M1-4" in said
    assert "Last seen clean" in said
    assert "In the air long damp, wet boards, dripping" in said
    assert "Common practice, no source." in said


def test_a_sick_place_points_to_the_cave(guest: TestClient, engine: Engine, caves: dict[str, str]) -> None:
    with engine.begin() as db:
        wheels = three_makes(db, caves)
        notes = see(db, wheels, ("M1-1", "M1-2", "M2-1", "M2-2", "M3-1", "M3-2"))
    said = words_of(guest.get(path_of(notes["M1-1"])).text)
    assert "It goes with the cave." in said
    assert "Other makes 4 of 4 has it: M2-1, M2-2, M3-1, M3-2 0 of 4 clean: M2-3" in said


def test_few_numbers_say_so_and_which_way_they_lean(guest: TestClient, engine: Engine, caves: dict[str, str]) -> None:
    with engine.begin() as db:
        wheels = three_makes(db, caves)
        notes = see(db, wheels, ("M1-1", "M1-3"))
    said = words_of(guest.get(path_of(notes["M1-1"])).text)
    assert "The numbers are too small to tell. Of the same make" in said
    assert "As far as they go, these counts would fit the vat." in said


def test_turning_alone_is_not_looking(guest: TestClient, engine: Engine, caves: dict[str, str]) -> None:
    with engine.begin() as db:
        wheels = three_makes(db, caves)
        note_id = enter(db, RindNote(note="black_spots"), 5, wheel_id=wheels["M1-1"])
        for wheel_id in wheels.values():
            enter(db, Care(care="turned"), 3, wheel_id=wheel_id)
    said = words_of(guest.get(path_of(note_id)).text)
    assert "There is nothing to compare with yet" in said
    assert "11 wheels were not looked at since and not counted: turning alone is not looking." in said


def test_a_later_note_of_a_bout_and_the_note_that_it_is_gone_ask_about_the_first(
    guest: TestClient, engine: Engine, caves: dict[str, str]
) -> None:
    with engine.begin() as db:
        wheels = three_makes(db, caves)
        see(db, wheels, ("M1-1",))
        again = enter(db, RindNote(note="black_spots"), 3, wheel_id=wheels["M1-1"])
        gone = enter(db, RindNote(note="black_spots", gone=True), 1, wheel_id=wheels["M1-1"])
    first, last = (words_of(guest.get(path_of(note_id)).text) for note_id in (again, gone))
    assert "first seen 7 March" in first
    assert first == last


def test_early_blowing_is_refused_as_a_question_of_air(
    guest: TestClient, engine: Engine, caves: dict[str, str]
) -> None:
    with engine.begin() as db:
        wheels = three_makes(db, caves)
        notes = see(db, wheels, ("M1-1", "M1-2", "M2-1", "M2-2", "M3-1", "M3-2"), "early_blown")
    said = words_of(guest.get(path_of(notes["M1-1"])).text)
    assert "This is not a question for the cave&#39;s air; it comes from coliforms" in said
    assert "It goes with the cave" not in said
    assert "Places with it" not in words_of(guest.get(f"{KINDS}/early_blown/vat-or-cave").text)


def test_brine_is_counted_by_makes_and_a_wash_by_wheels(
    guest: TestClient, engine: Engine, caves: dict[str, str]
) -> None:
    tub, jar = new_id(), new_id()
    with engine.begin() as db:
        enter(db, GearSheet(gear="brine", name="big tub"), 300, gear_id=tub)
        enter(db, GearSheet(gear="wash", name="blue jar"), 300, gear_id=jar)
        milk = (Milk(species="goat", farm="Upper farm", lot="7"),)
        sheet = {"brine_id": tub, "milks": milk, "cultures": (Added(name="mild culture", lot="A12"),)}
        wheels = three_makes(db, caves, M1=sheet, M2=sheet)
        for code in ("M1-1", "M2-1"):
            enter(db, Care(care="washed"), 10, wheel_id=wheels[code], gear_id=jar)
        notes = see(db, wheels, ("M1-1", "M1-3", "M2-1"))
    said = words_of(guest.get(path_of(notes["M1-1"])).text)
    assert "brine tub: big tub 2 of 2 makes with it; all had it, so there is nothing to compare with" in said
    assert "milk: goat Upper farm lot 7 2 of 2 makes" in said
    assert "culture packet: mild culture, lot A12 2 of 2 makes" in said
    assert "wash or brush: blue jar 1 of 1 wheel with it" in said


def test_a_kind_of_note_lists_its_makes_and_places(guest: TestClient, engine: Engine, caves: dict[str, str]) -> None:
    with engine.begin() as db:
        wheels = three_makes(db, caves)
        notes = see(db, wheels, ("M2-1", "M2-2", "M2-3", "M2-4"))
    page = guest.get(path_of(notes["M2-1"])).text
    assert f'href="{KINDS}/black_spots/vat-or-cave"' in page
    said = words_of(guest.get(f"{KINDS}/black_spots/vat-or-cave").text)
    assert "It goes with the vat." in said
    assert "M2 4 of 4 wheels with it, 0 of 8 wheels without: stands out" in said
    assert "Lower fridge 2 of 6 wheels with it, 2 of 6 wheels without: numbers too small to tell" in said
    assert "M1 " not in said.split("Makes with it")[1]


def test_the_whole_record_can_be_asked_for(guest: TestClient, engine: Engine, caves: dict[str, str]) -> None:
    with engine.begin() as db:
        old = new_id()
        enter(db, WheelSheet(code="OLD"), 900, wheel_id=old)
        enter(db, RindNote(note="crack"), 890, wheel_id=old)
    paths = {span: f"{KINDS}/crack/vat-or-cave?span={span}" for span in ("season", "year", "all", "nonsense")}
    said = {span: words_of(guest.get(path).text) for span, path in paths.items()}
    assert "There is nothing to compare with yet" in said["year"]
    assert said["nonsense"] == said["season"]
    assert "The numbers are too small to tell." in said["all"]


def test_a_shelf_has_the_air_of_its_cave_and_is_compared_by_itself(
    guest: TestClient, engine: Engine, caves: dict[str, str]
) -> None:
    with engine.begin() as db:
        shelf = a_place(db, "Top shelf", "shelf", parent_id=caves["fridge"])
        wheels = three_makes(db, caves)
        for code in ("M1-1", "M2-1"):
            enter(db, Moved(), 19, wheel_id=wheels[code], place_id=shelf)
        notes = see(db, wheels, ("M1-1", "M2-1"))
    said = words_of(guest.get(path_of(notes["M1-1"])).text)
    assert "of other makes in the same place 1 of 4" in said
    assert "shelf: Top shelf 1 of 1 wheel with it" in said


def test_a_wheel_without_a_make_has_the_vat_of_its_day(
    guest: TestClient, engine: Engine, caves: dict[str, str]
) -> None:
    with engine.begin() as db:
        for code, place in (("O1", "fridge"), ("O2", "cellar")):
            wheel_id = new_id()
            enter(db, WheelSheet(code=code, made_on="2026-02-01"), LIVED_D, wheel_id=wheel_id)  # type: ignore[arg-type]
            enter(db, Moved(), LIVED_D, wheel_id=wheel_id, place_id=caves[place])
            note_id = enter(db, RindNote(note="crack"), 5, wheel_id=wheel_id)
    assert "Of the same make in other places 1 of 1" in words_of(guest.get(path_of(note_id)).text)
    assert "made 1 February" in words_of(guest.get(f"{KINDS}/crack/vat-or-cave").text)


def test_the_wheels_page_leads_from_each_rind_note(guest: TestClient, engine: Engine, caves: dict[str, str]) -> None:
    with engine.begin() as db:
        wheels = three_makes(db, caves)
        notes = see(db, wheels, ("M1-1",))
    page = guest.get(f"/wheels/{wheels['M1-1']}").text
    assert page.count("vat-or-cave") == 1
    assert f'href="{path_of(notes["M1-1"])}"' in page


def test_a_word_of_the_households_own_works_and_an_unknown_one_is_no_page(guest: TestClient, engine: Engine) -> None:
    with engine.begin() as db:
        enter(db, OwnKind(of="rind_note", name="ash_gone", word="ash rubbed off"), 30)
    assert "a word of your own" in words_of(guest.get(f"{KINDS}/ash_gone/vat-or-cave").text)
    answer = guest.get(f"{KINDS}/nothing/vat-or-cave")
    assert (answer.status_code, "There is no such kind of rind note." in answer.text) == (404, True)


def test_a_note_that_was_taken_back_is_no_page(guest: TestClient, engine: Engine, caves: dict[str, str]) -> None:
    with engine.begin() as db:
        wheels = three_makes(db, caves)
        notes = see(db, wheels, ("M1-1",))
        enter(db, Withdrawn(), 1, wheel_id=wheels["M1-1"], replaces=notes["M1-1"])
    assert guest.get(path_of(notes["M1-1"])).status_code == 404
    assert guest.get(path_of(new_id())).status_code == 404


def test_a_cure_is_no_cause_and_what_was_taken_back_never_was(
    guest: TestClient, engine: Engine, caves: dict[str, str]
) -> None:
    jar, wrong = new_id(), new_id()
    with engine.begin() as db:
        enter(db, GearSheet(gear="wash", name="blue jar"), 300, gear_id=jar)
        enter(db, GearSheet(gear="wash", name="red jar"), 300, gear_id=wrong)
        wheels = three_makes(db, caves)
        for code in ("M1-1", "M2-1"):
            enter(db, Care(care="washed"), 4.5, wheel_id=wheels[code], gear_id=jar)
            slip = enter(db, Care(care="washed"), 8, wheel_id=wheels[code], gear_id=wrong)
            enter(db, Withdrawn(), 7, wheel_id=wheels[code], replaces=slip)
        see(db, wheels, ("M1-1", "M2-1"))
    said = words_of(guest.get(f"{KINDS}/black_spots/vat-or-cave").text)
    assert "Lower fridge 2 of 6 wheels" in said
    assert "jar" not in said
