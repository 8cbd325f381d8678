"""Numbers on the wire. No source: what people and devices write."""

import math
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collector.intake.payloads.wire_numbers import Unreadable, described, finite, number_in, switch_in


@pytest.mark.parametrize(("value", "number"), [(1, 1.0), (1.5, 1.5), (Decimal("12.3"), 12.3), (-0.0, 0.0)])
def test_numbers_are_floats(value, number):
    assert finite(value) == number
    assert isinstance(finite(value), float)


@pytest.mark.parametrize(
    ("value", "reason"),
    [
        (True, "must be a number, got true"),
        (None, "must be a number, got nothing"),
        ("12", "must be a number, got text '12'"),
        ([1], "must be a number, got a list"),
        ({}, "must be a number, got an object"),
        (b"1", "must be a number, got something else"),
        (math.nan, "must be a finite number, got nan"),
        (math.inf, "must be a finite number, got inf"),
        (10**400, "must be a number below 1.8e308, got a whole number of 1329 bits"),
        (Decimal("1e999999"), "must be a finite number|below 1.8e308"),
        (Decimal("sNaN"), "must be a"),
    ],
)
def test_what_is_no_finite_number_is_refused(value, reason):
    with pytest.raises(Unreadable, match=reason):
        finite(value)


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("12.4", (12.4, "")),
        ("12,4", (12.4, "")),
        (" -3 ", (-3.0, "")),
        ("+.5", (0.5, "")),
        ("1e-3", (0.001, "")),
        ("5.", (5.0, "")),
        ("54 °F", (54.0, "°F")),
        ("54F", (54.0, "F")),
        ("86.4%", (86.4, "%")),
        ("2,4 kg", (2.4, "kg")),
    ],
)
def test_text_that_is_a_number_is_one(text, found):
    assert number_in(text) == found


@pytest.mark.parametrize(
    "text",
    ["", "x", "1,234.5", "1.2.3", "1_000", "0x1F", "nan", "inf", "1e999", "--1", "12:30", "2026-01-05", "١٢", "1 2",
     "9" * 65, "12\x00"],
)  # fmt: skip
def test_other_text_is_no_number(text):
    assert number_in(text) is None


@given(st.text(max_size=100))
def test_any_text_is_a_finite_number_or_none(text):
    found = number_in(text)
    assert found is None or math.isfinite(found[0])


def test_doors_speak_in_words():
    assert switch_in(" OPEN ") == (1.0, "open")
    assert switch_in("closed") == (0.0, "open")
    assert switch_in("on") == (1.0, "")
    assert switch_in("ajar") is None
    assert switch_in("on" * 100) is None


@given(st.one_of(st.text(), st.integers(), st.floats(), st.binary(), st.none(), st.booleans(), st.lists(st.text())))
def test_any_value_is_described_in_a_few_characters_fit_to_be_shown(value):
    assert described(value).isprintable()
    assert len(described(value)) <= 500


def test_huge_values_are_described_short():
    assert described(10**5000) == "a whole number of 16610 bits"
    assert len(described("x" * 10_000)) < 60
