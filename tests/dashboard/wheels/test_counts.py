"""Pieces left, and how a wheel ended."""

from hypothesis import given
from hypothesis import strategies as st

from dashboard.wheels.bodies.doings import Counted, Cut, Ended, Lifted, Note
from dashboard.wheels.counts import Count, count
from tests.dashboard.wheels.builders import OTHER, day, noted, turned


def test_a_wheel_nobody_touched_is_alive() -> None:
    assert count([], 1) == Count(1)


def test_the_last_piece_ends_a_batch() -> None:
    entries = [noted(Ended(how="eaten", pieces=8), 20), noted(Ended(how="given", pieces=6), 30)]
    assert count(entries[:1], 14) == Count(6)
    assert count(entries, 14) == Count(0, "given", day(30))


def test_an_end_without_a_number_is_all_that_is_left() -> None:
    assert count([noted(Ended(how="eaten", pieces=8), 20), noted(Ended(how="thrown"), 30)], 14).state == "thrown"


def test_a_cut_wheel_goes_on_as_its_parts() -> None:
    assert count([noted(Cut(), 60)], 1) == Count(0, "cut", day(60))


def test_what_comes_after_the_end_is_named_but_tastings_and_notes_are_fine() -> None:
    late = noted(turned(), 31)
    entries = [noted(Ended(how="sold"), 30), late, noted(Note(text="it was good"), 40)]
    assert count(entries, 1).late == (late.id,)


def test_more_pieces_than_there_were_are_named() -> None:
    much = noted(Lifted(wheel_id=OTHER, pieces=5), 3)
    assert count([much], 3) == Count(0, "finished", day(3), (much.id,))


def test_a_recount_wins() -> None:
    assert count([noted(Ended(how="eaten", pieces=5), 3), noted(Counted(pieces=12), 4)], 14).left == 12
    assert count([noted(Counted(pieces=0), 4)], 14) == Count(0, "finished", day(4))


@given(st.integers(1, 40), st.lists(st.integers(1, 9), max_size=12))
def test_pieces_left_and_taken_are_what_there_was(pieces: int, taken: list[int]) -> None:
    found = count([noted(Ended(how="eaten", pieces=n), 1 + at) for at, n in enumerate(taken)], pieces)
    assert found.left == max(pieces - sum(taken), 0)
    assert (found.state == "alive") == (found.left > 0)
    assert bool(found.excess) <= (sum(taken) > pieces)
