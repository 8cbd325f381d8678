"""Sheets laid over each other."""

from dashboard.wheels.bodies.doings import Note
from dashboard.wheels.bodies.make import OF_THE_DAY, TIMES, Added, MakeSheet
from dashboard.wheels.bodies.sheets import WheelSheet
from dashboard.wheels.sheets import blank_of, laid_over
from tests.dashboard.wheels.builders import day


def test_the_last_word_on_each_field_counts() -> None:
    found = laid_over(MakeSheet, [MakeSheet(code="A", heat="raw"), MakeSheet(heat="thermised"), Note(text="x")])
    assert (found.code, found.heat) == ("A", "thermised")


def test_a_field_set_to_nothing_is_blank_again() -> None:
    found = laid_over(MakeSheet, [MakeSheet(heat="raw"), MakeSheet(heat=None)])
    assert found.heat is None
    assert "heat" in found.model_fields_set


def test_words_and_photos_stay_with_their_entry() -> None:
    assert laid_over(WheelSheet, [WheelSheet(text="a scratch")]).text == ""


def test_no_sheet_at_all_is_a_blank_one() -> None:
    assert laid_over(WheelSheet, []) == WheelSheet()


def test_a_make_made_again_keeps_the_recipe_and_leaves_the_day() -> None:
    sheet = MakeSheet(
        code="24-07", cultures=(Added(name="thermophilic mix", lot="L7"),), rennet_at=day(0), ph_draining=6.4, cook_c=38
    )
    again = blank_of(sheet, OF_THE_DAY)
    assert again.model_dump(exclude_unset=True, exclude={"kind"}) == {
        "cultures": ({"name": "thermophilic mix", "lot": "L7"},),
        "cook_c": 38,
    }


def test_every_step_of_the_day_is_a_field_of_the_make() -> None:
    assert set(TIMES) == {name for name in MakeSheet.model_fields if name.endswith("_at")} - {"next_at"}
    assert set(OF_THE_DAY) <= set(MakeSheet.model_fields)
