"""Odd weighings are found beside the trend and named."""

import numpy as np
import pytest
from scipy import stats

from collector.theil_sen import theil_sen
from dashboard.wheels.weight.outliers import BOARD, MISREAD, TAKEN, WET, odd_weighings

PULL = np.arange(10.0)
SIGMA = np.full(10, 2.0)


def drying(seed: int = 1) -> np.ndarray:
    """2500 g that lose 12 g by the week, weighed to 2 g."""
    return 2500 - 12 * PULL + np.random.default_rng(seed).normal(0, 1.5, 10)


def test_a_wheel_that_dries_evenly_has_none() -> None:
    assert odd_weighings(drying(), PULL, SIGMA) == ()


def test_wet_is_found_though_it_is_within_the_spread_of_all_weights() -> None:
    weights = drying()
    weights[5] += 25
    z = 0.6745 * abs(weights[5] - np.median(weights)) / stats.median_abs_deviation(weights)
    assert z < 3.5
    (odd,) = odd_weighings(weights, PULL, SIGMA)
    assert (odd.index, odd.kind, odd.lasts) == (5, WET, False)
    assert odd.grams == pytest.approx(25, abs=6)


def test_a_board_is_known_by_its_tare() -> None:
    weights = drying()
    weights[4] += 40
    (odd,) = odd_weighings(weights, PULL, SIGMA, tares_g=(41.0,))
    assert odd.kind == BOARD
    weights[4] += 400
    (odd,) = odd_weighings(weights, PULL, SIGMA)
    assert odd.kind == BOARD


def test_a_slice_lasts() -> None:
    weights = drying()
    weights[6:] -= 130
    (odd,) = odd_weighings(weights, PULL, SIGMA)
    assert (odd.index, odd.kind, odd.lasts) == (6, TAKEN, True)
    assert odd.grams == pytest.approx(-130, abs=8)


def test_too_light_for_once_is_misread() -> None:
    weights = drying()
    weights[3] -= 100
    (odd,) = odd_weighings(weights, PULL, SIGMA)
    assert (odd.index, odd.kind) == (3, MISREAD)


def test_two_boards_hide_each_other_from_the_spread_but_not_from_us() -> None:
    weights = drying()[:5]
    weights[[1, 3]] += 600
    assert [(o.index, o.kind) for o in odd_weighings(weights, PULL[:5], SIGMA[:5])] == [(1, BOARD), (3, BOARD)]


def test_what_it_calls_odd_a_robust_line_calls_odd_too() -> None:
    weights = drying()
    weights[5] += 25
    line = theil_sen(PULL, weights)
    theirs = stats.theilslopes(weights, PULL)
    assert line is not None
    assert line.slope == pytest.approx(theirs.slope)
    rest = weights - line.slope * PULL
    assert int(np.argmax(np.abs(rest - np.median(rest)))) == odd_weighings(weights, PULL, SIGMA)[0].index


def test_shapes_must_agree() -> None:
    with pytest.raises(ValueError, match="one length"):
        odd_weighings(drying(), PULL[:4], SIGMA)
