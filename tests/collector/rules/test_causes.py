import pytest

from collector.rules.causes import CAUSES, cause_of
from collector.rules.drift import SIDES
from collector.rules.place_rules import PLACE_RULES
from collector.rules.trust.causes import MAINS, PRACTICE

LONGEST = 100  # a line and a half of a small phone


def test_every_rule_about_places_has_causes_and_a_first_step() -> None:
    for name in PLACE_RULES:
        cause = cause_of(name, {"quantity": "humidity", "side": "low", "what": ["longer"]})
        assert cause.likely
        assert cause.first


def test_every_row_belongs_to_a_rule() -> None:
    assert {name.split("/")[0] for name in CAUSES} <= set(PLACE_RULES)


def test_lines_are_short_whole_sentences_marked_common_practice() -> None:
    for cause in CAUSES.values():
        for line in cause.likely + cause.first:
            assert line.text.endswith(".")
            assert line.source == PRACTICE
            assert len(line.text) <= LONGEST or line is MAINS


def test_on_its_way_out_has_the_causes_of_being_out() -> None:
    for side in SIDES:
        facts = {"quantity": side.quantity, "side": "high" if side.sign > 0 else "low"}
        assert cause_of("leaving", facts) == CAUSES[side.rule]


def test_a_cooler_goes_by_what_it_does() -> None:
    assert cause_of("cooler_changed", {"what": ["longer", "works_more"]}) == CAUSES["cooler_changed/works_more"]
    assert cause_of("cooler_changed", {"what": ["longer"]}) == CAUSES["cooler_changed"]


def test_mains_are_warned_of_wherever_a_plug_is_touched() -> None:
    for cause in CAUSES.values():
        if any("plug" in line.text or "fuse" in line.text for line in cause.first if line is not MAINS):
            assert MAINS in cause.first


def test_a_rule_that_is_none_is_refused() -> None:
    with pytest.raises(KeyError):
        cause_of("unheard_of", {})
