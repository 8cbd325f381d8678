"""CSV that is safe to open: what begins like a formula is a text (OWASP, "CSV injection"); the form is RFC 4180."""

import pytest

from dashboard.csv_rows import csv_lines

WIDE = ["＝1+1", "＋1", "－1", "＠A1"]


@pytest.mark.parametrize("text", ["=1+1", "+1", "-1+1", "@SUM(A1)", "\t=1", "\r=1", "\n=1", *WIDE])
def test_a_text_that_looks_like_a_formula_is_made_harmless(text: str) -> None:
    assert csv_lines([[text]]).lstrip('"').startswith("'")


def test_numbers_stay_numbers_and_a_gap_an_empty_cell() -> None:
    assert csv_lines([[-1.5, 3, None, "plain"]]) == "-1.5,3,,plain\r\n"


def test_quotes_and_commas_are_quoted() -> None:
    assert csv_lines([['the "old" cave, left']]) == '"the ""old"" cave, left"\r\n'
