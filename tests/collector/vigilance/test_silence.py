"""How long a probe may say nothing. The numbers are the project's own choice; no outside source."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collector.vigilance.silence import LEAST_MS, UNKNOWN_MS, allowance_ms, usual_interval_ms

MINUTE = 60_000


def test_the_usual_interval_is_the_median_gap() -> None:
    assert usual_interval_ms([0, 1 * MINUTE, 2 * MINUTE, 3 * MINUTE, 60 * MINUTE]) == MINUTE


def test_a_probe_that_was_set_to_another_interval_is_known_again_after_five_messages() -> None:
    each_minute = [n * MINUTE for n in range(100)]
    each_hour = [each_minute[-1] + n * 60 * MINUTE for n in range(1, 6)]
    assert usual_interval_ms([*each_minute, *each_hour[:4]]) == MINUTE
    assert usual_interval_ms([*each_minute, *each_hour]) == 60 * MINUTE


def test_readings_of_one_message_count_once() -> None:
    arrivals = [n * 10 * MINUTE + extra for n in range(5) for extra in (0, 0, 3, 500)]
    assert usual_interval_ms(arrivals) == pytest.approx(10 * MINUTE, abs=600)


@pytest.mark.parametrize("arrivals", [[], [5], [0, MINUTE], [0, MINUTE, 2 * MINUTE], [7] * 50])
def test_too_few_messages_tell_no_interval(arrivals: list[int]) -> None:
    assert usual_interval_ms(arrivals) is None


@given(st.lists(st.integers(0, 10**12), max_size=60))
def test_the_order_of_arrival_times_does_not_matter(arrivals: list[int]) -> None:
    assert usual_interval_ms(arrivals) == usual_interval_ms(sorted(arrivals, reverse=True))


@pytest.mark.parametrize(
    ("usual_ms", "promise_s", "allowed_ms"),
    [
        (MINUTE, None, LEAST_MS),
        (15 * MINUTE, None, 45 * MINUTE),
        (None, None, UNKNOWN_MS),
        (MINUTE, 3_600.0, 120 * MINUTE),
        (None, 60.0, LEAST_MS),
        (MINUTE, 0.0, LEAST_MS),
    ],
)
def test_a_probe_is_allowed_three_intervals_or_twice_its_promise(
    usual_ms: float | None, promise_s: float | None, allowed_ms: float
) -> None:
    assert allowance_ms(usual_ms, promise_s) == allowed_ms
