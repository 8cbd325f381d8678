"""Cautions. What they say: USDA FSIS "Molds on Food", 21 CFR part 133, D'Amico et al. 2008, as named beside each."""

import inspect
import itertools
import re
from datetime import date, timedelta

import pytest

from dashboard.wheels import cautions
from dashboard.wheels.cautions import LOCAL_FIRST, Caution, Cheese, cautions_for
from dashboard.wheels.kinds.coverings import COVERINGS
from dashboard.wheels.kinds.rind import RIND_KINDS

MADE = date(2025, 3, 1)


def names(cheese: Cheese, age_d: int = 30) -> list[str]:
    return [caution.name for caution in cautions_for(cheese, MADE + timedelta(days=age_d))]


def words(cheese: Cheese, name: str, age_d: int = 30) -> str:
    return next(c.words for c in cautions_for(cheese, MADE + timedelta(days=age_d)) if c.name == name)


def test_raw_milk_names_the_legal_minimum_and_local_rules_first() -> None:
    hard = Cheese(heat="raw", made_on=MADE, rind="natural", section="133.150")
    assert names(hard) == ["minimum_age", "who_not"]
    said = words(hard, "minimum_age")
    assert "60 days at 35 °F (1.7 °C) or more" in said
    assert "it is 30 days old and gets there on 2025-04-30" in said
    assert said.endswith(LOCAL_FIRST)
    assert "it is 61 days old." in words(hard, "minimum_age", 61)


def test_soft_raw_milk_cheese_is_told_that_sixty_days_are_no_cure() -> None:
    soft = Cheese(heat="raw", made_on=MADE, rind="bloomy", section="133.182")
    assert "sixty_days" in names(soft, 90)
    assert "sixty_days" not in names(Cheese(heat="pasteurised", rind="bloomy", section="133.182"))


def test_heated_milk_needs_no_word_unless_the_standard_asks_all_milk() -> None:
    assert names(Cheese(heat="pasteurised", made_on=MADE, rind="natural", section="133.113")) == []
    assert names(Cheese(heat="pasteurised", made_on=MADE, rind="blue", section="133.106")) == ["minimum_age"]


def test_milk_that_nobody_named_is_not_taken_for_heated() -> None:
    unknown = Cheese(made_on=None, rind="natural")
    assert names(unknown) == ["minimum_age"]
    assert words(unknown, "minimum_age").startswith("The make does not say whether the milk was raw. ")
    assert "it is not known when it was made" in words(unknown, "minimum_age")


@pytest.mark.parametrize("covering", ["barrier_bag", "breathable_bag", "film"])
def test_a_bag_is_no_cure(covering: str) -> None:
    assert names(Cheese(heat="pasteurised", covering=covering)) == ["bag"]


def test_cheese_under_oil_has_its_own_caution() -> None:
    assert names(Cheese(heat="pasteurised", covering="in_oil")) == ["in_oil"]


@pytest.mark.parametrize("note", ["swollen_bag", "butyric", "rotten", "bad_slime", "mould_inside"])
def test_what_calls_for_throwing_away_comes_first(note: str) -> None:
    found = cautions_for(Cheese(heat="raw", made_on=MADE, rind="bloomy", notes=frozenset({note})), MADE)
    assert found[0].weight == "discard"
    assert "unseen" in [c.name for c in found]


@pytest.mark.parametrize("note", sorted(name for name, row in RIND_KINDS.items() if row.growth))
def test_a_growth_is_brushed_on_a_natural_rind_and_thrown_away_on_a_white_one(note: str) -> None:
    natural = Cheese(heat="pasteurised", rind="natural", notes=frozenset({note}))
    assert "brush or wipe it, watch it" in words(natural, "rind_mould")
    # USDA FSIS: Brie and Camembert with a mould that is not theirs: throw away.
    white = Cheese(heat="pasteurised", rind="bloomy", notes=frozenset({note}))
    assert names(white)[0] == "strange_mould"


def test_a_mould_nobody_knows_is_cut_off_hard_cheese_by_an_inch() -> None:
    hard = Cheese(heat="pasteurised", rind="natural", notes=frozenset({"unknown_mould"}))
    assert "at least 1 inch (2.5 cm)" in words(hard, "strange_mould")
    assert names(hard) == ["strange_mould", "apart", "unseen"]


def test_a_households_own_word_can_call_for_care() -> None:
    own = Cheese(heat="pasteurised", notes=frozenset({"velvet"}), calls_for=(("velvet", "discard"),))
    assert names(own)[0] == "discard"
    assert names(Cheese(heat="pasteurised", notes=frozenset({"velvet"}))) == []


def every_cheese() -> list[Cheese]:
    heats, rinds = ("raw", "thermised", "pasteurised", None), ("natural", "bloomy", "washed", "blue", "")
    notes = [frozenset(), *(frozenset({name}) for name in RIND_KINDS)]
    some = itertools.product(heats, rinds, sorted(COVERINGS), notes)
    return [Cheese(h, MADE, r, "133.182", c, (), n) for h, r, c, n in some]


def test_no_caution_ever_calls_a_cheese_safe() -> None:
    said = {caution.words for cheese in every_cheese() for caution in cautions_for(cheese, MADE)}
    assert len(said) > 10
    for sentence in said:
        assert not re.search(r"\b(safe|safely|harmless|fine to eat|all right)\b", sentence), sentence


def test_every_caution_names_its_source() -> None:
    made: list[Caution] = [c for c in vars(cautions).values() if isinstance(c, Caution)]
    assert len(made) >= 10
    assert all(c.source and c.words.endswith((".", "?")) for c in made)


def test_no_air_can_turn_a_caution_off() -> None:
    asked = set(inspect.signature(cautions_for).parameters) | set(Cheese.__dataclass_fields__)
    assert not {name for name in asked if re.search(r"humid|temperature|air|dew|place", name)}
