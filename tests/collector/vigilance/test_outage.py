"""What is said after an outage. The thresholds are the project's own choice; no outside source."""

from datetime import timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from collector.vigilance.outage import LOOKS_AFTER, Outage, longest_gap, took_it
from tests.collector.notify.builders import NOON


def times(*minutes: float) -> np.ndarray:
    return np.array([int(m * 60_000) for m in minutes], dtype=np.int64)


def test_the_gap_runs_from_the_last_reading_to_the_first() -> None:
    taken = times(0, 1, 2, 100, 101)
    assert longest_gap(taken, 2 * 60_000, 100 * 60_000) == (2 * 60_000, 100 * 60_000)


def test_a_gap_that_was_filled_later_is_the_longest_that_is_left() -> None:
    taken = times(0, 10, 20, 70, 80, 100)
    assert longest_gap(taken, 0, 100 * 60_000) == (20 * 60_000, 70 * 60_000)


def test_without_any_reading_the_time_without_messages_is_the_gap() -> None:
    assert longest_gap(times(), 5, 9) == (5, 9)


@given(st.lists(st.integers(0, 1_000), max_size=40), st.integers(0, 500), st.integers(501, 1_000))
def test_no_reading_lies_within_the_gap(taken: list[int], start: int, end: int) -> None:
    rising = np.array(sorted(set(taken)), dtype=np.int64)
    before, after = longest_gap(rising, start, end)
    assert before <= after
    assert not np.any((rising > before) & (rising < after))


@pytest.mark.parametrize(
    ("values", "course", "turned"),
    [
        ([9.8, 10.4, 11.0, 10.6, 10.0], "cooling", 2),
        ([9.8, 9.6, 9.4], "cooling", 0),
        ([9.8, 10.0, 10.4], "warming", None),
        ([9.8, 9.9, 9.7, 9.8], "steady", None),
        ([9.8], "steady", None),
    ],
)
def test_a_place_cools_again_warms_on_or_stays(values: list[float], course: str, turned: int | None) -> None:
    found = took_it(times(*range(len(values))), values)
    assert found["course"] == course
    assert found["turned_ms"] == (None if turned is None else turned * 60_000)
    assert (found["back_c"], found["last_c"]) == (values[0], values[-1])


def test_an_outage_is_looked_at_a_few_times_and_then_settled() -> None:
    outage = Outage("w", 0, 1, NOON)
    looked = [m for m in range(60) if outage.due(NOON + timedelta(minutes=m))]
    assert looked == [int(after.total_seconds() // 60) for after in LOOKS_AFTER]
    assert outage.settled
