"""The tables of the trade's words hang together. What they say is common practice, no source."""

import re

import pytest

from dashboard.wheels.bodies.doings import Ended, TookOut, Weighing
from dashboard.wheels.entry_kinds import BODY, ENTRY_KINDS
from dashboard.wheels.kinds.care import CARE_KINDS, PLANNED, planned_word
from dashboard.wheels.kinds.chores import CHORE_KINDS
from dashboard.wheels.kinds.coverings import BARE, COVERINGS
from dashboard.wheels.kinds.endings import ENDINGS, STARTS, TAKEN_OUT
from dashboard.wheels.kinds.gear import GEAR_KINDS
from dashboard.wheels.kinds.rind import CALLS_FOR, COMES_FROM, RIND_KINDS
from dashboard.wheels.kinds.styles import STYLES

TABLES = {
    "care": CARE_KINDS,
    "chores": CHORE_KINDS,
    "coverings": COVERINGS,
    "endings": ENDINGS,
    "entries": ENTRY_KINDS,
    "gear": GEAR_KINDS,
    "rind": RIND_KINDS,
}


@pytest.mark.parametrize("table", sorted(TABLES))
def test_names_are_fit_for_the_book_and_words_for_people(table: str) -> None:
    for name, row in TABLES[table].items():
        assert re.fullmatch(r"[a-z][a-z0-9_]{0,19}", name), name
        assert row.name == name
        assert row.word.strip()
        assert "_" not in row.word
    assert len({row.word for row in TABLES[table].values()}) == len(TABLES[table])


def test_every_kind_of_entry_has_a_form_and_every_form_a_kind() -> None:
    schema = BODY.json_schema()
    assert set(schema["discriminator"]["mapping"]) == set(ENTRY_KINDS)


def test_choices_in_forms_are_the_rows_of_the_tables() -> None:
    assert set(_choices(Ended, "how")) == set(ENDINGS)
    assert set(_choices(TookOut, "what")) == set(TAKEN_OUT)
    assert set(_choices(Weighing, "start")) == set(STARTS)


def _choices(form: type, field: str) -> list[str]:
    found = form.model_json_schema()["properties"][field]
    options = found.get("anyOf", [found])
    return [name for option in options for name in option.get("enum", [])]


def test_gear_that_care_names_exists() -> None:
    assert {row.gear for row in CARE_KINDS.values() if row.gear} <= set(GEAR_KINDS)


def test_rind_notes_say_where_they_come_from_and_what_they_call_for() -> None:
    for row in RIND_KINDS.values():
        assert row.comes_from in COMES_FROM
        assert row.calls_for in CALLS_FOR


@pytest.mark.parametrize("name", ["pink", "red_brown_spots", "early_blown"])
def test_what_published_work_ties_to_milk_brine_or_water_is_never_matched_to_air(name: str) -> None:
    # Thermus in pink cheese: note on Quigley et al. 2016; Epicoccum: Int. J. Food Microbiol. 406:110401 (2023);
    # early blowing: coliforms in the first days, common practice.
    assert RIND_KINDS[name].comes_from == "never_air"


def test_late_blowing_is_matched_to_warmth() -> None:
    # Gouda slurry germinated at 13 degC, never at 5 or 8; Valtellina Casera blew at 13 and not at 8 degC.
    assert RIND_KINDS["late_blown"].comes_from == "temperature"


def test_bare_lets_everything_through_and_nothing_lets_through_more() -> None:
    assert COVERINGS[BARE].lets_through() == 1
    assert all(0 <= row.openness <= 1 for row in COVERINGS.values())


def test_films_and_wax_stand_where_published_flow_puts_them() -> None:
    # Bare rind 1e-9 to 1e-8, film or wax 1e-11 to 1e-10 kg m-2 s-1 Pa-1: from a thousandth to a tenth of bare.
    for name in ("wax", "barrier_bag", "film", "foil"):
        assert 0.001 <= COVERINGS[name].openness <= 0.1
    # Four breathable films let through 0.5 to 12 % where 15 % left unwrapped (Picque et al. 2011).
    assert 0.5 / 15 <= COVERINGS["breathable_bag"].openness <= 12 / 15


def test_each_coat_closes_more() -> None:
    coat = COVERINGS["coat"]
    assert coat.lets_through(2) == pytest.approx(coat.openness**2)
    assert COVERINGS["wax"].lets_through(3) == COVERINGS["wax"].openness
    with pytest.raises(ValueError, match="at least 1, got 0"):
        coat.lets_through(0)


@pytest.mark.parametrize("name", sorted(STYLES))
def test_a_style_to_begin_with_is_whole(name: str) -> None:
    style = STYLES[name]
    for line in style.plan:
        assert line.care in CARE_KINDS or line.care in PLANNED
        assert line.to_d is None or line.to_d > line.from_d
    assert style.ripe_from_d < style.ripe_to_d
    assert [limit.up_to_g for limit in style.losses] == [1_000, 4_000, None]
    assert all(limit.low_pct < limit.high_pct for limit in style.losses)
    assert style.losses[0].high_pct >= style.losses[-1].high_pct  # the small wheel loses more


@pytest.mark.parametrize(
    ("rind", "low", "high"),
    [("washed", 90, 97), ("smeared", 90, 95), ("bloomy", 80, 95), ("cloth", 80, 88)],
)
def test_air_agrees_with_published_bands(rind: str, low: float, high: float) -> None:
    # University of Guelph, Food Science, "Humidity and curing": washed 90-95, mould 85-90, dry 80-85 %; the wider
    # ends are common practice, no source.
    for style in STYLES.values():
        if style.rind == rind:
            assert low <= style.humidity_low_pct < style.humidity_high_pct <= high


def test_planned_words_are_read_by_people() -> None:
    assert planned_word("turned") == "turned"
    assert planned_word("weighed") == "weighed"
    assert planned_word("sung_to") == "sung to"
