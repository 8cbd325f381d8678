"""Exact tests on two-by-two tables, alone or within strata; pure, in whole numbers, so that nothing is rounded."""

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from functools import reduce
from math import comb


@dataclass(frozen=True, slots=True)
class TwoByTwo:
    """Sick of how many, with something and without it.

    Raises:
        ValueError: a count below 0, or more sick than there are.
    """

    sick_with: int
    all_with: int
    sick_without: int
    all_without: int

    def __post_init__(self) -> None:
        for side in ("with", "without"):
            sick, all_ = getattr(self, f"sick_{side}"), getattr(self, f"all_{side}")
            if not 0 <= sick <= all_:
                raise ValueError(f"sick_{side} must be from 0 to the {all_} there are, got {sick}")

    @property
    def sick(self) -> int:
        return self.sick_with + self.sick_without

    @property
    def least_with(self) -> int:
        """The fewest sick with it that these totals allow."""
        return max(0, self.sick - self.all_without)

    def ways(self) -> list[int]:
        """In how many ways chance deals so many of the sick to those with it, from `least_with` up."""
        most = min(self.sick, self.all_with)
        return [
            comb(self.all_with, x) * comb(self.all_without, self.sick - x) for x in range(self.least_with, most + 1)
        ]


def exact_p(strata: Iterable[TwoByTwo]) -> float:
    """Chance alone: how likely is a deal at least as odd as this one, given the totals of each stratum.

    Args:
        strata: one table a stratum; one alone is Fisher's exact test.
    Returns:
        Two-sided p, 0 < p <= 1: the share of all deals that are no likelier than the one seen. 1 where the totals
        leave no choice, and without strata.
    Source: Fisher's exact test (two-sided by probability, as scipy.stats.fisher_exact); over strata the exact
    conditional test of a common odds ratio of 1, by convolving the hypergeometric counts.
    """
    known = list(strata)
    ways = _dealt(known)
    seen = sum(table.sick_with - table.least_with for table in known)
    return sum(way for way in ways if way <= ways[seen]) / sum(ways)


def best_p(strata: Iterable[TwoByTwo]) -> float:
    """The smallest p that these totals could give at all when the sick go with it: what the numbers allow.

    Returns:
        p of the deal with as many sick on the side with it as the totals allow; 1 where they leave no choice.
    Source: our choice, because a test that cannot reach its level says nothing when it does not.
    """
    ways = _dealt(list(strata))
    return sum(way for way in ways if way <= ways[-1]) / sum(ways)


def more_than_chance(strata: Iterable[TwoByTwo]) -> bool:
    """Whether more of those with it are sick than chance would deal them on average."""
    known = list(strata)
    expected = sum(Fraction(t.sick * t.all_with, t.all_with + t.all_without) for t in known if t.sick)
    return sum(table.sick_with for table in known) > expected


def _dealt(strata: list[TwoByTwo]) -> list[int]:
    """A stratum without a choice multiplies every deal alike, and is left out."""
    return reduce(_convolved, (ways for table in strata if len(ways := table.ways()) > 1), [1])


def _convolved(one: list[int], other: list[int]) -> list[int]:
    found = [0] * (len(one) + len(other) - 1)
    for i, a in enumerate(one):
        for j, b in enumerate(other):
            found[i + j] += a * b
    return found
