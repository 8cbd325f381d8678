"""Doubting a weighing. Published losses are named where they are used."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dashboard.wheels.plausible import doubt, plausible_range_g


@pytest.mark.parametrize(
    ("last_g", "net_g", "days"),
    [
        (250, 212.5, 23),  # Camembert, unwrapped, 6 degC and 75 %: -15 % in 23 days (Picque et al. 2011)
        (1_600, 1_500, 28),  # farm Saint-Nectaire, first four weeks (VetAgro Sup)
        (42_000, 40_000, 120),  # Comte, four months (trade)
        (10_000, 9_280, 0.5),  # our choice: a fresh curd still drains
    ],
)
def test_published_losses_are_no_question(last_g: float, net_g: float, days: float) -> None:
    if days >= 1:
        assert doubt(net_g, last_g, days) is None
    else:
        assert doubt(net_g, last_g, days).flag == "much_lighter"


@pytest.mark.parametrize(
    ("net_g", "flag"),
    [
        (2_100, None),
        (2_080, None),
        (2_115, None),
        (2_150, "heavier"),
        (2_750, "heavier"),  # on its board
        (1_500, "much_lighter"),  # a quarter is gone
        (210, "unit_slip"),  # a decimal place
        (21_000, "unit_slip"),
        (2_100 * 2.2046, "unit_slip"),  # pounds typed as kilograms
        (2_100 / 2.2046, "unit_slip"),
    ],
)
def test_each_doubt_has_its_reason(net_g: float, flag: str | None) -> None:
    found = doubt(net_g, 2_100, 7)
    assert (found.flag if found else None) == flag


def test_a_wheel_just_washed_may_be_heavier() -> None:
    assert doubt(2_150, 2_100, 7, wet=True) is None
    assert doubt(2_200, 2_100, 7, wet=True).flag == "heavier"


def test_a_coarse_scale_is_given_two_steps() -> None:
    assert doubt(2_200, 2_100, 7, step_g=50) is None


@pytest.mark.parametrize("wrong", [(0, 1, 0), (-1, 1, 0), (float("nan"), 1, 0), (100, -1, 0), (100, 1, -1)])
def test_refuses_what_cannot_be(wrong: tuple[float, float, float]) -> None:
    last_g, days, step_g = wrong
    with pytest.raises(ValueError, match="last_g must be above 0"):
        plausible_range_g(last_g, days, step_g=step_g)


@given(st.floats(1, 50_000), st.floats(0, 1_000), st.booleans(), st.floats(0, 100))
def test_the_same_weight_is_never_doubted(last_g: float, days: float, wet: bool, step_g: float) -> None:
    assert doubt(last_g, last_g, days, wet=wet, step_g=step_g) is None


@given(st.floats(1, 50_000), st.floats(0, 1_000), st.floats(0, 1_000))
def test_more_time_allows_more_loss(last_g: float, days: float, more: float) -> None:
    assert plausible_range_g(last_g, days + more)[0] <= plausible_range_g(last_g, days)[0]
