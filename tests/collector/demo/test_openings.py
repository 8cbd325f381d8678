import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from collector.demo.openings import Opening, Visit, open_share, openings
from collector.demo.weather import DAY_MS

VISITS = (Visit(6.6, 9.0), Visit(6.7, 9.0), Visit(17.4, 5.0, 0.5), Visit(23.9, 5.0))


@given(st.integers(0, 2**64 - 1), st.integers(-5000, 40_000))
def test_openings_lie_apart_in_order_and_within_their_day(seed, day):
    found = openings(seed, "cellar", VISITS, day)
    edges = [edge for opening in found for edge in (opening.from_ms, opening.to_ms)]
    assert edges == sorted(edges)
    assert day * DAY_MS <= edges[0]
    assert edges[-1] < (day + 1) * DAY_MS - 3_000_000


def test_a_habit_is_kept_on_its_share_of_the_days():
    evenings = sum(
        any(o.from_ms % DAY_MS > 15 * 3_600_000 for o in openings(7, "x", VISITS[2:3], day)) for day in range(1000)
    )
    # Binomial: 500 plus or minus four times 15.8.
    assert 437 < evenings < 563


def test_two_doors_have_chance_of_their_own():
    assert openings(7, "cellar", VISITS, 20_000) != openings(7, "box", VISITS, 20_000)
    assert openings(7, "cellar", VISITS, 20_000) == openings(7, "cellar", VISITS, 20_000)


def test_the_share_of_each_minute_adds_up_to_the_time_open():
    start = 20_000 * DAY_MS
    found = (Opening(start + 90_000, start + 210_000), Opening(start + 600_000, start + 615_000))
    share = open_share(found, 20_000)
    assert share[:5].tolist() == [0.0, 0.5, 1.0, 0.5, 0.0]
    assert share.sum() == pytest.approx((120 + 15) / 60)
    assert np.count_nonzero(open_share((), 20_000)) == 0
