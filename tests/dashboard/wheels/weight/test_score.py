"""Forecasts beside what came."""

from dashboard.wheels.weight.score import DAY_MS, scored, what_came_g


def test_the_score_in_words() -> None:
    kept = [(90.0, 110.0, 100.0)] * 12 + [(90.0, 110.0, 120.0)] * 2
    assert scored(kept).words == "14 came due, 12 were inside."
    assert scored([*kept, (1.0, 2.0, None)]).words == "15 came due, 12 were inside, 1 not weighed then."
    assert scored([(1.0, 3.0, 2.0)]).words == "1 came due, 1 was inside."
    assert scored([]).words == "No forecast has come due yet."


def test_a_weighing_near_the_day_speaks_for_it() -> None:
    assert what_came_g([(0, 1000.0), (10 * DAY_MS, 980.0)], 11 * DAY_MS) == 980.0


def test_between_two_weighings_a_straight_line_does() -> None:
    assert what_came_g([(0, 1000.0), (20 * DAY_MS, 980.0)], 10 * DAY_MS) == 990.0


def test_nothing_speaks_for_a_day_far_from_all() -> None:
    assert what_came_g([(0, 1000.0), (90 * DAY_MS, 900.0)], 40 * DAY_MS) is None
    assert what_came_g([(0, 1000.0)], 10 * DAY_MS) is None
    assert what_came_g([], 0) is None
