"""What was found, in words that match the evidence."""

import pytest

from dashboard.lookback.compared import Comparison
from dashboard.lookback.vat_or_cave import Answer, Cell, Square, Verdict
from dashboard.lookback.vat_words import HEADLINES, chance, headline, leaning, quarter, reasons, said, unseen_words

EMPTY = Cell()
SICK, CLEAN = Cell(sick=("A1", "A2")), Cell(clean=("B1", "B2", "B3"))


def an_answer(verdict: Verdict, square: Square | None = None, *vats: Comparison, unseen: int = 0) -> Answer:
    return Answer(verdict, vats, (), (), square, unseen)


def brine(p: float | None, adjusted: float | None) -> Comparison:
    return Comparison("brine", "tub", True, (3, 3), (0, 1), p, adjusted, more=True)


@pytest.mark.parametrize("verdict", HEADLINES)
def test_each_verdict_has_its_sentence_and_without_air_none_speaks_of_the_cave(verdict: Verdict) -> None:
    assert headline(an_answer(verdict)) == HEADLINES[verdict]
    if verdict not in {"cave", "both"}:  # never reached where the cave is not compared
        assert "cave" not in headline(an_answer(verdict), air_asked=False)


@pytest.mark.parametrize(
    ("square", "lean"),
    [
        (Square(EMPTY, SICK, CLEAN, CLEAN), "vat"),
        (Square(EMPTY, CLEAN, SICK, CLEAN), "cave"),
        (Square(EMPTY, SICK, SICK, CLEAN), ""),
        (Square(SICK, EMPTY, CLEAN, CLEAN), ""),
        (Square(EMPTY, SICK, EMPTY, EMPTY), ""),
        (Square(SICK, EMPTY, SICK, EMPTY), ""),
    ],
)
def test_counts_lean_only_where_both_sides_were_looked_at(square: Square, lean: str) -> None:
    assert leaning(square) == lean
    told = reasons(an_answer("too_small", square))
    assert told[1:] == ((f"As far as they go, these counts would fit the {lean}.",) if lean else ())


def test_a_lean_is_told_only_of_numbers_that_cannot_tell() -> None:
    square = Square(EMPTY, SICK, CLEAN, CLEAN)
    assert reasons(an_answer("neither", square)) == (
        "Of the same make in other places 2 of 2; of other makes in the same place 0 of 3; of all the others 0 of 3.",
    )
    assert reasons(an_answer("nothing", square)) == ()


def test_how_likely_chance_is_stands_beside_what_stands_out() -> None:
    found = brine(0.01, 0.02)
    assert chance(found) == "chance alone would do as much in about 1 of 50 such records."
    assert reasons(an_answer("vat", Square(EMPTY, SICK, CLEAN, CLEAN), found))[1] == f"The vat: {chance(found)}"
    assert chance(brine(0.01, 0.2)) == chance(brine(None, None)) == ""


@pytest.mark.parametrize(
    ("p", "adjusted", "words"),
    [
        (0.001, 0.01, "stands out clearly"),
        (0.01, 0.05, "stands out"),
        (0.04, 0.06, "does not stand out"),
        (None, None, "numbers too small to tell"),
    ],
)
def test_the_words_match_the_evidence(p: float | None, adjusted: float | None, words: str) -> None:
    told = said(brine(p, adjusted), {("brine", "tub"): "big tub"})
    assert (told.what, told.with_it, told.without) == ("brine tub: big tub", "3 of 3 makes", "0 of 1 make")
    assert told.finding == words


def test_fewer_sick_than_elsewhere_never_stands_out() -> None:
    assert said(Comparison("make", "A", False, (0, 9), (9, 9), 0.001, 0.001, more=False), {}).finding == (
        "does not stand out"
    )


def test_a_quarter_names_its_wheels_and_the_unseen_are_counted() -> None:
    shown = quarter(Cell(("A1",), ("B1", "B2"), ("C1",)))
    assert (shown.count, shown.sick, shown.clean, shown.unseen) == ("1 of 3", "A1", "B1, B2", "C1")
    assert quarter(EMPTY).count == "none was looked at"
    assert unseen_words(an_answer("neither")) == ""
    assert unseen_words(an_answer("neither", unseen=1)).startswith("1 wheel was not looked at since")
