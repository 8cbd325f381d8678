"""Times of arrival are told apart, and follow the clock when it is put back."""

from collector.intake import arrivals
from collector.intake.arrivals import LONGEST_PUSH_MS, Arrivals


def test_two_within_a_millisecond_are_told_apart() -> None:
    stamps = Arrivals()
    assert [stamps.stamp("a", 1_000) for _ in range(3)] == [1_000, 1_001, 1_002]
    assert stamps.stamp("a", 1_500) == 1_500


def test_topics_do_not_push_each_other() -> None:
    stamps = Arrivals()
    assert [stamps.stamp(topic, 1_000) for topic in "abc"] == [1_000] * 3


def test_a_clock_put_back_is_followed() -> None:
    stamps = Arrivals()
    stamps.stamp("a", 10**9)
    assert stamps.stamp("a", 10**9 - LONGEST_PUSH_MS) == 10**9 - LONGEST_PUSH_MS


def test_a_million_topics_take_no_more_room(monkeypatch) -> None:  # type: ignore[no-untyped-def]
    monkeypatch.setattr(arrivals, "TOPICS", 3)
    stamps = Arrivals()
    for i in range(9):
        stamps.stamp(f"t{i}", 5)
    assert list(stamps._last) == ["t6", "t7", "t8"]
