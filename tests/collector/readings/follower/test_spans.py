"""Spans of the change log, joined where they touch."""

from hypothesis import given
from hypothesis import strategies as st

from collector.readings.follower.spans import JOIN_MS, Span, spans_of
from collector.readings.model import Change

CHANGES = st.lists(
    st.builds(
        lambda seq, channel, start, length, cause: Change(seq, channel, start, start + length, cause),
        st.integers(1, 1_000), st.sampled_from([1, 2, None]), st.integers(0, 10**8), st.integers(0, 10**7),
        st.sampled_from(["reading", "hold", "calibration"]),
    ),
    max_size=20,
)  # fmt: skip


def test_spans_come_in_the_order_of_the_log() -> None:
    changes = [Change(1, 7, 10, 20, "reading"), Change(2, 3, 0, 5, "reading"), Change(3, 7, 15, 30, "reading")]
    assert spans_of(changes) == [Span(7, 10, 30), Span(3, 0, 5)]


def test_only_rollups_follow_from_how_long_a_value_holds() -> None:
    assert spans_of([Change(1, 7, 10, 20, "hold")]) == [Span(7, 10, 20, raw=False)]


def test_what_changes_no_stored_number_concerns_nobody() -> None:
    assert spans_of([Change(1, 7, 10, 20, "calibration"), Change(2, None, 0, 9, "reading")]) == []


@given(CHANGES)
def test_every_change_is_covered_and_no_two_spans_touch(changes: list[Change]) -> None:
    spans = spans_of(changes)
    for change in changes:
        if change.channel is not None and change.cause in ("reading", "hold"):
            raw = change.cause == "reading"
            own = [s for s in spans if (s.channel, s.raw) == (change.channel, raw)]
            assert any(s.from_ms <= change.from_ms and change.to_ms <= s.to_ms for s in own)
    for i, one in enumerate(spans):
        for other in spans[i + 1 :]:
            if (one.channel, one.raw) == (other.channel, other.raw):
                assert one.from_ms > other.to_ms + JOIN_MS or other.from_ms > one.to_ms + JOIN_MS
