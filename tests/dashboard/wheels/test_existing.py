"""Wheels that somebody already has, typed as lines. All names are invented."""

from datetime import date
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collector.errors import EntryRefused
from dashboard.wheels.days_typed import Habits
from dashboard.wheels.existing import LIKELY, SURE, UNSURE, Found, Known, read_line, read_lines

HABITS = Habits(date(2026, 3, 12), ZoneInfo("Europe/Paris"))
KNOWN = Known(
    places={"lower fridge": "P1", "upper fridge": "P2", "cellar": "P3", "cellar, left shelf": "P4"},
    styles={
        "tomme, natural rind": "S1",
        "gouda": "S2",
        "blue": "S3",
        "washed rind, soft": "S4",
        "small lactic": "S5",
        "bagged or waxed": "S6",
    },
    codes=frozenset({"OLD-1"}),
)


def read(line: str) -> Found:
    return read_line(line, HABITS, KNOWN)


def values(line: str) -> dict:
    return {name: guess.value for name, guess in read(line).fields.items()}


@pytest.mark.parametrize(
    ("line", "expected"),
    [
        (
            "24-07B tomme 3 Feb 2.1 kg lower fridge",
            {"code": "24-07B", "style_id": "S1", "made_on": date(2026, 2, 3), "weight_g": 2_100, "place_id": "P1"},
        ),
        (
            "lower fridge: 2,1kg Tomme #14, made on Feb 3 2025",
            {"code": "#14", "style_id": "S1", "made_on": date(2025, 2, 3), "weight_g": 2_100, "place_id": "P1"},
        ),
        ("gouda 3 Feb", {"style_id": "S2", "made_on": date(2026, 2, 3)}),
        ("7 gouda 7 lb 2 oz waxed", {"code": "7", "style_id": "S2", "weight_g": 3_231.84, "covering": "wax"}),
        ("B3 14 pieces 240 g each", {"code": "B3", "pieces": 14, "each": True, "weight_g": 240}),
        ("B3 14 x 240g cellar", {"code": "B3", "pieces": 14, "each": True, "weight_g": 240, "place_id": "P3"}),
        ("B3 14 pieces 3.3 kg", {"code": "B3", "pieces": 14, "weight_g": 3_300}),
        ("GRANDE 2 weeks ago", {"code": "GRANDE", "made_on": date(2026, 2, 26)}),
        ("24-07B 24-06", {"code": "24-07B", "made_on": date(2025, 6, 24)}),
        ("W1 cellar, left shelf", {"code": "W1", "place_id": "P4"}),
        ("the big one with the scar", {"notes": "big one with scar"}),
        ("W1 gift for the miller, do not touch", {"code": "W1", "notes": "gift for miller, do not touch"}),
        ("W1 lower frigde", {"code": "W1", "place_id": "P1"}),
        ("tomme", {"style_id": "S1"}),
        ("W1 washed 540 g", {"code": "W1", "style_id": "S4", "weight_g": 540}),  # one word of the style's name
        ("W1 Lactic", {"code": "W1", "style_id": "S5"}),
        ("W1 small soft one", {"code": "W1", "notes": "small soft one"}),  # said of any wheel
        ("W1 natural", {"code": "W1", "style_id": "S1"}),
        ("W1 waxed", {"code": "W1", "covering": "wax"}),  # a covering, although a style is called so too
        ("", {}),
    ],
)
def test_a_line_is_read(line: str, expected: dict) -> None:
    found = values(line)
    weight_g = found.pop("weight_g", None)
    assert found == {name: value for name, value in expected.items() if name != "weight_g"}
    assert weight_g == pytest.approx(expected["weight_g"], abs=0.01) if "weight_g" in expected else weight_g is None


@pytest.mark.parametrize(
    ("line", "field", "confidence"),
    [
        ("24-07B 2.1 kg", "code", SURE),
        ("24-07B 2.1 kg", "weight_g", SURE),
        ("24-07B tomme", "style_id", LIKELY),  # only the first word of the style's name
        ("24-07B gouda", "style_id", SURE),
        ("24-07B 24-06", "made_on", UNSURE),  # may be a day, may be part of a code
        ("24-07B 2025-06-24", "made_on", SURE),
        ("W1 lower frigde", "place_id", UNSURE),  # mistyped
        ("W1 bagged", "covering", LIKELY),  # which bag?
        ("the miller's W1", "code", LIKELY),  # not at the front
    ],
)
def test_each_field_says_how_sure_it_is(line: str, field: str, confidence: float) -> None:
    assert read(line).fields[field].confidence == confidence


def test_what_was_read_from_which_words_is_kept() -> None:
    found = read("24-07B tomme 3 Feb 2.1 kg")
    assert {name: guess.words for name, guess in found.fields.items()} == {
        "weight_g": "2.1 kg",
        "made_on": "3 Feb",
        "style_id": "tomme",
        "code": "24-07B",
    }
    assert found.least_sure == LIKELY


def test_a_place_that_is_part_of_a_word_is_none() -> None:
    assert "place_id" not in values("W1 cellared well")


def test_a_day_to_come_is_no_day_of_making() -> None:
    assert "made_on" not in values("W1 2026-12-24")


def test_a_weight_that_cannot_be_is_named() -> None:
    found = read("W1 tomme 900 kg")
    assert found.problems == (("weight", "weight must be at most 200000 g, got '900 kg'"),)
    assert "900 kg" in found.value("notes")


def test_codes_used_twice_are_named() -> None:
    found = read_lines("A1 tomme\n\n A1 gouda\nOLD-1\n", HABITS, KNOWN)
    assert [one.problems for one in found] == [
        (),
        (("code", "code A1 is used by another wheel"),),
        (("code", "code OLD-1 is used by another wheel"),),
    ]


def test_a_line_without_end_is_kept_as_a_note() -> None:
    found = read("x" * 1_000)
    assert found.problems[0] == ("line", "line must be at most 400 signs, got 1000")
    assert found.value("notes") == "x" * 1_000


def test_more_lines_than_anybody_has_wheels_are_refused() -> None:
    with pytest.raises(EntryRefused, match="at most 2000, got 2001"):
        read_lines("A\n" * 2_001, HABITS, KNOWN)


words = st.sampled_from(
    [
        "tomme",
        "24-07B",
        "2.1 kg",
        "7 lb 2 oz",
        "3 Feb",
        "lower fridge",
        "14 pieces",
        "waxed",
        "|",
        "1,2,3",
        "-",
        "#",
        "½",
    ]
)


@given(st.one_of(st.text(max_size=120), st.lists(words, max_size=8).map(" ".join)))
def test_any_line_is_read_and_no_figure_is_dropped(line: str) -> None:
    found = read(line)
    kept = " ".join(guess.words for guess in found.fields.values())
    if line.isascii():
        assert sorted(c for c in line if c.isdigit()) == sorted(c for c in kept if c.isdigit())
