"""Exact tests, held against scipy and against dealing every hand."""

from itertools import combinations, product

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import fisher_exact

from dashboard.lookback.exact_tests import TwoByTwo, best_p, exact_p, more_than_chance


@st.composite
def tables(draw: st.DrawFn, most: int = 12) -> TwoByTwo:
    all_with, all_without = draw(st.integers(0, most)), draw(st.integers(0, most))
    return TwoByTwo(draw(st.integers(0, all_with)), all_with, draw(st.integers(0, all_without)), all_without)


def as_scipy(table: TwoByTwo) -> list[list[int]]:
    return [
        [table.sick_with, table.all_with - table.sick_with],
        [table.sick_without, table.all_without - table.sick_without],
    ]


@given(tables(60))
def test_one_table_agrees_with_scipy(table: TwoByTwo) -> None:
    assert exact_p([table]) == pytest.approx(fisher_exact(as_scipy(table)).pvalue, rel=1e-9)


def test_the_lady_tasting_tea() -> None:
    """Fisher 1935, The Design of Experiments, chapter 2: 4 of 4 cups right has 1 in 70 on each side; from memory."""
    assert exact_p([TwoByTwo(4, 4, 0, 4)]) == pytest.approx(2 / 70)
    assert exact_p([TwoByTwo(3, 4, 1, 4)]) == pytest.approx(34 / 70)


def dealt(strata: list[TwoByTwo]) -> dict[int, int]:
    """How often each number of sick with it comes, by dealing every hand of every stratum."""
    found: dict[int, int] = {}
    each = [
        [
            sum(i < table.all_with for i in hand)
            for hand in combinations(range(table.all_with + table.all_without), table.sick)
        ]
        for table in strata
    ]
    for hands in product(*each):
        found[sum(hands)] = found.get(sum(hands), 0) + 1
    return found


@pytest.mark.parametrize(
    "strata",
    [
        [TwoByTwo(2, 3, 1, 4), TwoByTwo(2, 2, 0, 3)],
        [TwoByTwo(0, 3, 2, 3), TwoByTwo(3, 4, 0, 2)],
        [TwoByTwo(1, 1, 0, 4), TwoByTwo(1, 2, 0, 3), TwoByTwo(1, 1, 0, 2)],
    ],
)
def test_strata_agree_with_dealing_every_hand(strata: list[TwoByTwo]) -> None:
    ways = dealt(strata)
    seen = ways[sum(table.sick_with for table in strata)]
    assert exact_p(strata) == pytest.approx(sum(w for w in ways.values() if w <= seen) / sum(ways.values()))
    assert best_p(strata) == pytest.approx(sum(w for w in ways.values() if w <= ways[max(ways)]) / sum(ways.values()))
    mean = sum(sick * w for sick, w in ways.items()) / sum(ways.values())
    assert more_than_chance(strata) == (sum(table.sick_with for table in strata) > mean)


@given(st.lists(tables(6), max_size=4))
def test_p_is_above_0_and_at_most_1(strata: list[TwoByTwo]) -> None:
    assert 0 < exact_p(strata) <= 1
    assert 0 < best_p(strata) <= 1


def test_a_stratum_that_leaves_no_choice_changes_nothing() -> None:
    whole = [TwoByTwo(3, 3, 0, 4)]
    assert exact_p([*whole, TwoByTwo(2, 2, 3, 3), TwoByTwo(0, 5, 0, 2), TwoByTwo(1, 4, 0, 0)]) == exact_p(whole)
    assert exact_p([]) == best_p([]) == 1.0


def test_more_sick_than_there_are_is_refused() -> None:
    with pytest.raises(ValueError, match="sick_with must be from 0 to the 2 there are, got 3"):
        TwoByTwo(3, 2, 0, 1)
