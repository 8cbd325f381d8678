"""Flags on a wheel's entries."""

from dashboard.wheels.bodies.base import Body
from dashboard.wheels.bodies.doings import Care, RindNote, TookOut
from dashboard.wheels.history import history_of
from dashboard.wheels.marks import marks_of
from dashboard.wheels.model import Entry
from tests.dashboard.wheels.builders import a_wheel, noted, turned, weighed


def marks(*entries: Entry, **more: object) -> list[set[str]]:
    found = marks_of(entries, history_of(entries), **more)
    return [found[e.id] for e in entries]


def weighings(*bodies: Body) -> list[set[str]]:
    """Each a week after the other."""
    return marks(noted(a_wheel()), *(noted(body, 7 * (1 + n)) for n, body in enumerate(bodies)))[1:]


def test_an_odd_weight_is_marked_and_the_next_good_one_is_not() -> None:
    assert weighings(weighed(2_100), weighed(2_750), weighed(2_080)) == [set(), {"heavier"}, set()]


def test_an_odd_weight_that_the_next_bears_out_is_believed() -> None:
    assert weighings(weighed(2_100), weighed(1_200), weighed(1_190), weighed(1_180)) == [
        set(),
        {"much_lighter"},
        set(),
        set(),
    ]


def test_a_weight_that_was_kept_on_purpose_says_so_and_is_built_on() -> None:
    assert weighings(weighed(2_100), weighed(1_400, insisted=True), weighed(1_390)) == [set(), {"kept_as_typed"}, set()]


def test_a_slice_taken_out_explains_the_weight() -> None:
    assert weighings(weighed(2_100), TookOut(what="slice", taken_g=700), weighed(1_380))[-1] == set()


def test_washing_explains_a_gain() -> None:
    assert weighings(weighed(2_100), weighed(2_150))[-1] == {"heavier"}
    assert weighings(weighed(2_100), Care(care="washed"), weighed(2_150))[-1] == set()


def test_before_it_was_made_nothing_can_be_done_to_a_wheel() -> None:
    assert marks(noted(turned(), -5), noted(a_wheel())) == [{"before_made"}, set()]


def test_the_day_of_making_is_meant_in_any_zone() -> None:
    assert marks(noted(turned(), 0, -20), noted(a_wheel())) == [set(), set()]


def test_unknown_words_are_marked_until_they_are_added() -> None:
    entries = (noted(a_wheel()), noted(Care(care="sung_to")), noted(RindNote(note="velvet")))
    assert marks(*entries)[1:] == [{"unknown_word"}, {"unknown_word"}]
    assert marks(*entries, own_words={("care", "sung_to"), ("rind_note", "velvet")})[1:] == [set(), set()]
