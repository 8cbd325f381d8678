"""Warnings in words: whatever a warning holds, what is said of it is whole and true."""

from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collector.notify.known import Known
from collector.records.warnings import CaveWarning
from collector.rules.place_rules import PLACE_RULES
from collector.rules.trust import BY_NAME
from collector.vigilance.rules import VIGIL_RULES
from dashboard.warnings.told import sentence, told
from tests.dashboard.conftest import NOW_AT

RULES = sorted({*PLACE_RULES, *BY_NAME, *VIGIL_RULES})
KNOWN = Known(place_names={"cave": "Lower fridge"}, probe_places={"front": "cave"}, stands_in={"cave": "6 washed"})
OPENED_AT = NOW_AT - timedelta(hours=5)


def a_warning(rule: str = "too_damp", **more: object) -> CaveWarning:
    values: dict[str, object] = {"place_id": "cave", **more}
    return CaveWarning("w", rule, "warn", OPENED_AT, OPENED_AT, **values)  # type: ignore[arg-type]


@pytest.mark.parametrize("rule", RULES)
def test_every_rule_has_a_word_and_says_what_to_do(rule: str) -> None:
    is_place = rule in PLACE_RULES
    facts = {"quantity": "humidity", "side": "high"} if rule == "leaving" else {}
    shown = told(
        a_warning(rule, place_id="cave" if is_place else None, probe=None if is_place else "front", facts=facts),
        KNOWN,
        NOW_AT,
    )
    assert shown.word
    assert "_" not in shown.word
    assert shown.first
    assert shown.likely
    assert all(line.text.endswith((".", "?")) and line.source for line in (*shown.first, *shown.likely))


@given(
    st.sampled_from([*RULES, "a_rule_of_tomorrow"]),
    st.dictionaries(
        st.sampled_from(
            [
                "quantity",
                "side",
                "kind",
                "what",
                "since_ms",
                "last",
                "worst",
                "limit",
                "unit",
                "ended",
                "per_h",
                "heading",
            ]
        ),
        st.one_of(
            st.none(), st.text(max_size=8), st.floats(), st.integers(), st.lists(st.text(max_size=4), max_size=2)
        ),
    ),
    st.booleans(),
)
def test_no_facts_break_a_page(rule: str, facts: dict[str, object], over: bool) -> None:
    shown = told(a_warning(rule, facts=facts, cleared_at=NOW_AT if over else None), KNOWN, NOW_AT)
    assert shown.subject == "Lower fridge"
    assert shown.since_at <= OPENED_AT
    assert shown.is_open is not over


def test_a_probes_two_faults_are_told_apart() -> None:
    words = {
        told(a_warning("stuck", place_id=None, probe="front", field=f), KNOWN, NOW_AT).word
        for f in ("temperature", "humidity")
    }
    assert len(words) == 2


def test_a_probes_warning_leads_to_its_page_and_its_places_chart() -> None:
    shown = told(a_warning("stuck", place_id=None, probe="front"), KNOWN, NOW_AT)
    assert shown.subject_path == "/probes/front"
    assert shown.chart_path.startswith("/caves/cave?from=")
    assert shown.subject == "Probe front (Lower fridge)"


def test_the_chart_never_ends_in_the_future() -> None:
    assert told(a_warning(), KNOWN, NOW_AT).chart_path.endswith("to=2026-03-12T14%3A10Z")


@pytest.mark.parametrize(
    ("more", "state", "remark"),
    [
        ({}, "watch", ""),
        ({"cleared_at": NOW_AT}, "good", ""),
        ({"cleared_at": NOW_AT, "facts": {"ended": "lost"}}, "unknown", "Nobody knows whether it is over."),
        ({"withdrawn_at": NOW_AT}, "good", "Taken back"),
        ({"found_late": True}, "watch", "Found late"),
    ],
)
def test_how_it_stands_is_a_state_and_a_remark(more: dict[str, object], state: str, remark: str) -> None:
    shown = told(a_warning(**more), KNOWN, NOW_AT)
    assert shown.state == state
    assert shown.remark.startswith(remark)
    assert bool(shown.remark) == bool(remark)


def test_who_stands_there_is_told_while_it_lasts() -> None:
    assert told(a_warning(), KNOWN, NOW_AT).stands_in == "6 washed"
    assert told(a_warning(cleared_at=NOW_AT), KNOWN, NOW_AT).stands_in == ""


def test_a_sentence_has_a_capital_and_an_end() -> None:
    assert [sentence(text) for text in ("still going", "Is it?", "", " done. ")] == [
        "Still going.",
        "Is it?",
        "",
        "Done.",
    ]
