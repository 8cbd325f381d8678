"""The simulated wheels dry as real ones are known to, so that foretelling them means something."""

import numpy as np
import pytest

from tests.dashboard.wheels import weight_harness as harness

FOUR_WEEKS_D = 28


@pytest.fixture(scope="module")
def herd() -> harness.Herd:
    return harness.a_herd(seed=3, wheels=48)


def lost_pct(herd: harness.Herd, rinds: set[str], age_d: float) -> list[float]:
    return [
        100 * harness.lost_at(herd, number, wheel.made_ms + int(age_d * harness.DAY_MS)) / wheel.mass_g
        for number, wheel in enumerate(herd.wheels)
        if wheel.rind in rinds and len(wheel.stands) == 1
    ]


def test_bare_hard_wheels_lose_half_to_one_and_a_half_percent_a_week_in_their_first_month(herd: harness.Herd) -> None:
    # Common practice, no source.
    assert 2.0 < np.median(lost_pct(herd, {"natural"}, FOUR_WEEKS_D)) < 6.0


def test_their_loss_grows_like_the_root_of_time(herd: harness.Herd) -> None:
    # Diffusion inside limits them (J. Dairy Res. 21, 1954: one function of D t / height^2): four times the time, about
    # twice the loss; a steady loss would be four times.
    early, late = (np.median(lost_pct(herd, {"natural"}, age_d)) for age_d in (20, 80))
    assert 1.6 < late / early < 3.0


def test_soft_ones_lose_what_an_unwrapped_camembert_does_at_most(herd: harness.Herd) -> None:
    # Picque et al. 2011, doi 10.3168/jds.2010-3373: 15 % in 23 days at 75 % humidity; these stand damper.
    assert 2.0 < np.median(lost_pct(herd, {"bloomy"}, 23)) < 15.0


def test_keepers_make_the_mistakes_that_are_to_be_found(herd: harness.Herd) -> None:
    truths = {one.truth for wheel in herd.wheels for one in wheel.weighed}
    assert {"", "wet", "board", "slice"} <= truths
    assert any(one.wet for wheel in herd.wheels for one in wheel.weighed)
    assert any(wheel.cut_ms is not None for wheel in herd.wheels)


def test_a_seed_gives_the_same_wheels_again() -> None:
    once, again = (harness.a_herd(seed=3, wheels=4) for _ in range(2))
    assert [wheel.true_g for wheel in again.wheels] == [wheel.true_g for wheel in once.wheels]
    assert once.wheels[0].true_g > 0
