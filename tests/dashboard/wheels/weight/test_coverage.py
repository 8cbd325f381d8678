"""Intervals and advice on simulated wheels, in a small form; the whole stands in tests/bench/bench_weight.py."""

import pytest
from scipy import stats

from tests.bench.bench_weight import Judged, advised, judged
from tests.dashboard.wheels import weight_harness as harness

WHEELS, SEED = 36, 23
CHANCE = 0.01  # of failing though the promise holds


def bounds(cases: int) -> tuple[int, int]:
    """How many must and may lie inside when 85 to 95 % of very many do: two binomial ends."""
    return int(stats.binom.ppf(CHANCE, cases, 0.85)), int(stats.binom.isf(CHANCE, cases, 0.95))


@pytest.fixture(scope="module")
def herd() -> harness.Herd:
    return harness.a_herd(SEED, WHEELS)


@pytest.fixture(scope="module")
def cases(herd: harness.Herd) -> list[Judged]:
    return judged(herd)


def test_intervals_sixty_days_ahead_hold_what_they_say(cases: list[Judged]) -> None:
    low, high = bounds(len(cases))
    assert low <= sum(case.inside for case in cases) <= high


def test_following_the_advice_reaches_the_weight(herd: harness.Herd, cases: list[Judged]) -> None:
    inside = [case.inside for case in advised(herd, cases)]
    low, high = bounds(len(inside))
    assert len(inside) >= 12
    assert low <= sum(inside) <= high
