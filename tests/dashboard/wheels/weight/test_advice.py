"""When to cover, where to move, which humidity: the answers a person can act on."""

import numpy as np
import pytest

from dashboard.wheels.bodies.sheets import LossLimit
from dashboard.wheels.weight.advice import Limits, choices, limits_for, when_to_cover
from dashboard.wheels.weight.exposure import Under
from dashboard.wheels.weight.fit import Fit, fitted
from dashboard.wheels.weight.forecast import foretold
from dashboard.wheels.weight.setting import Wants, held_pct, suits
from dashboard.wheels.weight.to_come import Doubt, steady
from tests.dashboard.wheels.weight.air_of_tests import a_wheel, at, felt, weighed

DAYS = [0.0, 7, 14, 21, 28, 35, 42]
GRAMS = [3393 - 5.48 * day for day in DAYS]
BAG = Under(0, "barrier_bag")
NOW, DUE = at(42), at(102)


@pytest.fixture(scope="module")
def fit() -> Fit:
    return fitted(a_wheel("washed"), weighed(DAYS, GRAMS), felt(42))


def whole(fit: Fit, humidity: float = 85.0) -> object:
    return fit.exposure.then(steady(12.0, humidity, Doubt(1.0), (NOW, DUE)))


def test_limits_go_by_size() -> None:
    rows = [
        LossLimit(up_to_g=1000, low_pct=10, high_pct=20),
        LossLimit(up_to_g=4000, low_pct=8, high_pct=15),
        LossLimit(low_pct=6, high_pct=12),
    ]
    assert limits_for(rows, 800) == Limits(10, 20)
    assert limits_for(rows, 4000) == Limits(8, 15)
    assert limits_for(rows, 9000) == Limits(6, 12)
    assert limits_for(rows[:1], 2000) is None
    assert limits_for([], 2000) is None


def test_covered_half_way_when_half_of_the_loss_is_aimed_at(fit: Fit) -> None:
    aim_g = 3393 - 5.48 * 72
    day = when_to_cover(fit, whole(fit), (), BAG, aim_g, NOW, DUE)
    assert abs(day.on_ms - at(72)) < 8 * 86_400_000
    assert day.from_ms < day.on_ms < day.to_ms
    assert day.course.middle_g[0] == pytest.approx(aim_g, abs=12)
    assert not day.is_now
    assert not day.never


def test_too_light_already_is_now_and_too_heavy_for_ever_is_never(fit: Fit) -> None:
    assert when_to_cover(fit, whole(fit), (), BAG, 3393 - 5.48 * 30, NOW, DUE).is_now
    assert when_to_cover(fit, whole(fit), (), BAG, 2000, NOW, DUE).never
    with pytest.raises(ValueError, match="after now_ms"):
        when_to_cover(fit, whole(fit), (), BAG, 3000, DUE, NOW)


def test_places_and_coverings_are_compared_by_the_ready_day(fit: Fit) -> None:
    ahead = {"here": whole(fit), "damper": whole(fit, 92.0), "in a bag": whole(fit).under([Under(NOW, "barrier_bag")])}
    here, damper, bagged = choices(fit, 3393, DUE, ahead)
    assert here.name == "here"
    assert here.loss_pct > damper.loss_pct > bagged.loss_pct
    assert here.low_pct < here.loss_pct < here.high_pct


def wants(code: str, limits: tuple[float, float], losses: tuple[float, float] = (20.0, 4.0)) -> Wants:
    return Wants(code, (75.0, 95.0), losses, *limits, takes_up_pct=97.0)


def test_the_loss_is_a_straight_line_in_the_humidity(fit: Fit) -> None:
    dry, half, damp = (
        float(foretold(fit, whole(fit, rh), np.array([DUE])).middle_g[0]) for rh in (75.0, 85.0, 95.0)
    )  # fmt: skip
    assert half == pytest.approx((dry + damp) / 2, abs=0.01 * (damp - dry))


def test_a_setting_suits_all_wheels_of_a_cave() -> None:
    setting = suits([wants("A", (8.0, 12.0)), wants("B", (10.0, 14.0))])
    # A straight line from 20 % lost at 75 to 4 % at 95: 12 % at 85, 10 % at 87.5.
    assert (setting.low_pct, setting.high_pct) == (85.0, 87.5)
    assert setting.middle_pct == pytest.approx(86.25)


def test_wheels_that_want_different_air_are_named() -> None:
    setting = suits([wants("dry", (16.0, 18.0)), wants("damp", (5.0, 7.0))])
    assert setting.middle_pct is None
    assert {*setting.want_drier, *setting.want_damper} == {"dry", "damp"}
    assert "damp" in setting.want_damper or "dry" in setting.want_drier


def test_what_suits_most_is_said_and_who_stands_out_is_named() -> None:
    setting = suits([wants("A", (8.0, 12.0)), wants("B", (8.0, 12.0)), wants("C", (7.0, 11.0)), wants("D", (2.0, 5.0))])
    assert (setting.low_pct, setting.high_pct) == (86.25, 90.0)
    assert (setting.want_damper, setting.want_drier) == (("D",), ())


def test_a_wheel_that_no_air_saves_is_named_and_left_out() -> None:
    gone = wants("gone", (2.0, 5.0), (30.0, 12.0))
    setting = suits([gone, wants("A", (8.0, 12.0))])
    assert setting.hopeless == ("gone",)
    assert setting.middle_pct is not None
    assert suits([]).middle_pct is None


def test_too_damp_begins_where_the_rind_takes_up_water() -> None:
    assert wants("A", (0.0, 12.0)).range_pct == (85.0, 97.0)


def test_what_a_cave_has_held_leaves_out_a_tenth() -> None:
    assert held_pct([float("nan"), *range(0, 101)]) == (5.0, 95.0)
    assert held_pct([]) is None
