"""The trade's experience: a row for each rind note, and what it may claim."""

import pytest

from dashboard.lookback.trade_experience import AIR_WORDS, EXPERIENCE, experience_of, refused_as_air
from dashboard.wheels.kinds.rind import RIND_KINDS

AGREES = {
    "air": {"usual"},
    "vat": {"weak", "warmth"},
    "both": {"possible", "weak"},
    "never_air": {"weak", "refused"},
    "temperature": {"warmth"},
}
"""By what the list of rind notes says a look comes from: what the table may say of the air."""


def test_every_rind_note_has_a_row_and_no_row_is_about_another_look() -> None:
    assert set(EXPERIENCE) == set(RIND_KINDS)


@pytest.mark.parametrize("kind", sorted(EXPERIENCE))
def test_a_row_agrees_with_the_list_of_rind_notes_and_names_a_cause(kind: str) -> None:
    row = EXPERIENCE[kind]
    assert row.air in AGREES[RIND_KINDS[kind].comes_from]
    assert row.in_air or row.in_make
    assert row.air in AIR_WORDS


@pytest.mark.parametrize("kind", sorted(EXPERIENCE))
def test_what_is_published_says_one_cause_of_several_and_its_source(kind: str) -> None:
    row = EXPERIENCE[kind]
    assert bool(row.published) == bool(row.source)
    assert not row.published or row.published.startswith("One published cause of ")


def test_only_early_blowing_is_refused_as_a_question_of_air() -> None:
    assert [kind for kind in EXPERIENCE if refused_as_air(kind)] == ["early_blown"]
    assert refused_as_air("early_blown") == (
        "This is not a question for the cave's air; "
        "it comes from coliforms or yeasts in the first days: milk, hygiene, a culture that was slow."
    )


def test_where_published_work_ties_a_look_to_milk_brine_or_water_the_air_is_weak() -> None:
    """Epicoccum from milk and brine; Thermus from hot water; micrococci from milk or brine: abstracts named there."""
    for kind in ("red_brown_spots", "pink", "yellow_red_spots"):
        assert EXPERIENCE[kind].air == "weak"
        assert EXPERIENCE[kind].source


def test_a_word_of_the_households_own_has_no_row_and_is_not_refused() -> None:
    assert experience_of("own:ash_gone") is None
    assert refused_as_air("own:ash_gone") == ""
