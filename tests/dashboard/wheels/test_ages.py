"""Wheels from day 0: between two weighings in a straight line, and silent where nothing is near."""

from datetime import UTC, datetime

import pytest

from dashboard.wheels.ages import AtAge, Course, Tasted, age_at, loss_at, reached, tasted_at

LOSSES = (AtAge(2, 0.0), AtAge(30, 4.0), AtAge(60, 7.0), AtAge(180, 13.0))


@pytest.mark.parametrize(
    ("age_d", "loss_pct"), [(2, 0.0), (16, 2.0), (30, 4.0), (120, 10.0), (180, 13.0), (195, 13.0), (0, 0.0)]
)
def test_loss_lies_on_the_line_between_weighings(age_d: float, loss_pct: float) -> None:
    assert loss_at(LOSSES, age_d) == pytest.approx(loss_pct)


def test_far_from_every_weighing_nothing_is_said() -> None:
    assert loss_at(LOSSES, 260) is None
    assert loss_at((AtAge(40, 3.0),), 10) is None
    assert loss_at((), 10) is None


def test_the_nearest_tasting_speaks_for_an_age() -> None:
    early, late = Tasted(85, 3, "short", ""), Tasted(97, 4, "round", "")
    assert tasted_at((early, late), 90) is early
    assert tasted_at((early, late), 95) is late
    assert tasted_at((early, late), 180) is None


def test_a_wheel_that_left_earlier_never_was_so_old() -> None:
    gone = Course("1", "24-07B", LOSSES, (), now_age_d=400, ended_age_d=120)
    assert reached(gone, 120)
    assert not reached(gone, 121)
    assert reached(Course("1", "24-07B", LOSSES, (), now_age_d=121), 121)


def test_age_counts_from_the_making() -> None:
    made_at = datetime(2026, 3, 1, tzinfo=UTC)
    assert age_at(made_at, datetime(2026, 3, 3, 12, tzinfo=UTC)) == 2.5
