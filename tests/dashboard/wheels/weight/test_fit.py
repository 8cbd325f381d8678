"""What is learnt from weighings: k, form, and what does not fit."""

import numpy as np
import pytest

from dashboard.wheels.weight.exposure import Under
from dashboard.wheels.weight.fit import Weighings, fitted, strayed, weighted_quantile
from tests.dashboard.wheels.weight.air_of_tests import FROM_MS, a_wheel, at, felt, weighed

DAYS = [float(day) for day in range(0, 91, 7)]
# The example wheel (0.1257 m2, 3393 g) at 12 degC, 85 %, k 3e-9, a_w 0.97 loses 5.48 g by the day: computed
# independently, from j = k (a_w p_s - RH p_s).
DAILY_G = 5.48


def test_a_steady_loss_gives_the_k_that_belongs_to_it() -> None:
    fit = fitted(a_wheel("washed"), weighed(DAYS, [3393 - DAILY_G * day for day in DAYS]), felt(91))
    assert fit.odd == ()
    lost_by_k = fit.k * (fit.activity - 0.85) * 1402.6 * 0.1257 * 86_400 * 1000
    assert 0.4 * DAILY_G < lost_by_k < 1.6 * DAILY_G  # the rest may be breath


def test_a_loss_like_the_root_of_time_is_called_falling() -> None:
    grams = [3393 - 40 * (np.sqrt(1 + day / 3) - 1) for day in DAYS]
    assert fitted(a_wheel("natural"), weighed(DAYS, grams), felt(91)).form == "falling"


def test_a_loss_in_air_that_takes_nothing_is_breath() -> None:
    damp = felt(91, damp=97.5)
    grams = [400 - 0.12 * day for day in DAYS]
    assert fitted(a_wheel("bloomy", 0.035), weighed(DAYS, grams), damp).form == "breathing"


def test_a_wheel_may_gain_in_damp_air() -> None:
    grams = [3393 + 0.7 * day for day in DAYS]
    fit = fitted(a_wheel(), weighed(DAYS, grams), felt(91, damp=99.0))
    assert fit.odd == ()
    assert fit.activity < 0.97


def test_few_weighings_are_plain() -> None:
    assert fitted(a_wheel(), weighed([0, 14, 28], [3393, 3350, 3320]), felt(30)).is_plain
    assert not fitted(a_wheel(), weighed([0, 7, 14, 28], [3393, 3370, 3350, 3320]), felt(30)).is_plain


def test_a_wet_weighing_is_left_out_and_named() -> None:
    grams = [3393 - DAILY_G * day for day in DAYS]
    grams[6] += 24
    fit = fitted(a_wheel("washed"), weighed(DAYS, grams), felt(91))
    assert [(one.index, one.kind) for one in fit.odd] == [(6, "wet")]
    assert 6 not in fit.used


def test_a_slice_becomes_a_step() -> None:
    grams = [3393 - DAILY_G * day - (200 if day > 40 else 0) for day in DAYS]
    fit = fitted(a_wheel("washed"), weighed(DAYS, grams), felt(91))
    assert [(one.index, one.kind, one.lasts) for one in fit.odd] == [(6, "taken", True)]
    assert weighted_quantile(fit.theta[:, 3], fit.weight, 0.5) == pytest.approx(-200, abs=10)


def test_what_is_known_wet_needs_no_doubt() -> None:
    grams = [3393 - DAILY_G * day for day in DAYS]
    grams[6] *= 1.004
    assert fitted(a_wheel("washed"), weighed(DAYS, grams, wet=(6,)), felt(91)).odd == ()


def test_a_covering_explains_a_slower_loss() -> None:
    day_covered = 42.0
    grams = [3393 - DAILY_G * (min(day, day_covered) + 0.25 * max(day - day_covered, 0)) for day in DAYS]
    covered = fitted(a_wheel("washed"), weighed(DAYS, grams), felt(91, (Under(at(day_covered), "waxed_paper"),)))
    bare = fitted(a_wheel("washed"), weighed(DAYS, grams), felt(91))
    best = [float(np.max(-0.5 * np.einsum("ni,ni->n", f.solved, f.solved))) for f in (covered, bare)]
    assert best[0] > best[1]


def test_straying_grows_with_the_loss_and_is_alike_for_a_while() -> None:
    at_ms = np.array([at(10), at(20), at(200)])
    cover = strayed(at_ms, np.array([[10.0, 20.0, 60.0]]), np.array([0.1]))[0]
    assert cover[0, 0] == pytest.approx(1.0)  # a tenth of ten grams
    assert cover[2, 2] > cover[1, 1] > cover[0, 0]
    # After 100 days and more next to nothing is shared with the first days.
    assert cover[2, 2] - 2 * cover[1, 2] + cover[1, 1] == pytest.approx(16.0)


def test_refuses_nothing_to_learn_from() -> None:
    empty = Weighings(np.array([], dtype=np.int64), np.array([]), np.array([]), np.array([], dtype=bool))
    with pytest.raises(ValueError, match="at least one"):
        fitted(a_wheel(), empty, felt(10))
    with pytest.raises(ValueError, match="must reach from"):
        fitted(a_wheel(), weighed([0, 30], [3393, 3300]), felt(10))


def test_weighted_quantile_of_equal_weights_is_the_median() -> None:
    values = np.array([3.0, 1.0, 2.0])
    assert weighted_quantile(values, np.full(3, 1 / 3), 0.5) == pytest.approx(2.0)
    assert FROM_MS > 0
