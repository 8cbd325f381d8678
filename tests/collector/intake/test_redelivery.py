"""Which messages came a second time, by their order alone."""

from hypothesis import given
from hypothesis import strategies as st

from collector.intake.redelivery import digest, repeated

A, B, C, D = (("t", bytes([i])) for i in range(4))
messages = st.lists(st.sampled_from([A, B, C, D]), max_size=8)


def test_the_end_of_what_was_stored_at_the_beginning_of_what_comes_is_a_repeat() -> None:
    assert repeated([A, B, C], [B, C, D]) == 2


def test_new_messages_alone_are_no_repeat() -> None:
    assert repeated([A, B], [C, D]) == 0
    assert repeated([A, B], [A, C]) == 0  # A was acknowledged, or B would have come before C


def test_nothing_stored_repeats_nothing() -> None:
    assert repeated([], [A]) == 0
    assert repeated([A], []) == 0


def test_equal_payloads_on_other_topics_are_other_messages() -> None:
    assert repeated([("cellar/temperature", digest(b"12"))], [("fridge/temperature", digest(b"12"))]) == 0


@given(stored=messages, unacknowledged=st.integers(0, 8), new=messages)
def test_no_second_delivery_is_taken_for_new(stored: list, unacknowledged: int, new: list) -> None:
    """Whatever the broker holds no acknowledgement for comes first; at least that much is recognised."""
    held = stored[len(stored) - min(unacknowledged, len(stored)) :]
    assert repeated(stored, held + new) >= len(held)
