"""Where a wheel has been."""

from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st

from dashboard.wheels.model import in_order
from dashboard.wheels.stays import Stay, stay_at, stays_of
from tests.dashboard.wheels.builders import CELLAR, SHELF, covered, day, moved, noted, turned


def test_a_wheel_that_was_never_put_anywhere_has_no_stay() -> None:
    assert stays_of([noted(turned())]) == []


def test_each_stay_ends_where_the_next_begins() -> None:
    stays = stays_of(
        [
            noted(moved(spot="top"), place_id=SHELF),
            noted(covered("coat", coats=2), 9),
            noted(moved(), 20, place_id=CELLAR),
        ]
    )
    assert stays == [
        Stay(day(0), day(9), SHELF, "top"),
        Stay(day(9), day(20), SHELF, "top", covering="coat", coats=2),
        Stay(day(20), None, CELLAR, covering="coat", coats=2),
    ]


def test_another_spot_in_the_same_place_is_the_same_stay() -> None:
    stays = stays_of(
        [noted(moved(spot="top"), place_id=SHELF), noted(moved(spot="middle", position=3), 5, place_id=SHELF)]
    )
    assert stays == [Stay(day(0), None, SHELF, "middle", 3)]


def test_taking_a_covering_off_makes_it_bare_with_one_coat() -> None:
    stays = stays_of([noted(covered("coat", coats=3)), noted(covered("bare", coats=3), 5)])
    assert (stays[1].covering, stays[1].coats) == ("bare", 1)


def test_a_part_begins_where_its_parent_stood() -> None:
    begun = Stay(day(60), None, SHELF, "top", covering="cloth")
    assert stays_of([noted(moved(), 70, place_id=CELLAR)], begun) == [
        Stay(day(60), day(70), SHELF, "top", covering="cloth"),
        Stay(day(70), None, CELLAR, covering="cloth"),
    ]


def test_an_ended_wheel_stays_nowhere() -> None:
    stays = stays_of([noted(moved(), place_id=SHELF), noted(moved(), 40, place_id=CELLAR)], None, day(30))
    assert stays == [Stay(day(0), day(30), SHELF)]
    assert stay_at(stays, day(30)) is None
    assert stay_at(stays, day(29.9)) == stays[0]


steps = st.tuples(st.integers(0, 30), st.sampled_from([SHELF, CELLAR, "bare", "wax", "cloth"]))


@given(st.lists(steps, max_size=12))
def test_stays_follow_on_each_other_without_hole_or_overlap(steps: list[tuple[int, str]]) -> None:
    entries = in_order(
        noted(moved(), at, place_id=what) if what in (SHELF, CELLAR) else noted(covered(what), at) for at, what in steps
    )
    stays = stays_of(entries)
    assert len(stays) <= len(entries)
    for one, other in pairwise(stays):
        assert one.to_at == other.from_at > one.from_at
        assert (one.place_id, one.covering) != (other.place_id, other.covering)
    if stays:
        assert stays[-1].to_at is None
