"""Judging a span again ends where one pass over everything ends, and no later than it must."""

from hypothesis import given
from hypothesis import strategies as st

from collector.air.model import STEP_MS
from collector.judging import PIECE_MS, judge_span
from collector.rules.model import Verdict

MEMORY_STEPS = 4


def too_high(values: list[int], start: int, end: int, carried: Verdict | None) -> list[Verdict]:
    """A small rule with a memory: a spell opens after four high steps on end, and ends with the first low one."""
    open_at, found = (carried.opened_ms if carried else None), []
    for step in range(start // STEP_MS, end // STEP_MS):
        window = values[max(0, step - MEMORY_STEPS + 1) : step + 1]
        if open_at is None and len(window) == MEMORY_STEPS and all(window):
            open_at = step * STEP_MS
        if open_at is not None and not values[step]:
            found.append(Verdict("high", open_at, step * STEP_MS))
            open_at = None
    return found + ([Verdict("high", open_at, None)] if open_at is not None else [])


def open_at(verdicts: list[Verdict], at: int) -> Verdict | None:
    return next((v for v in verdicts if v.opened_ms < at and (v.cleared_ms is None or v.cleared_ms >= at)), None)


@given(
    before=st.lists(st.integers(0, 1), min_size=30, max_size=80),
    changed=st.tuples(st.integers(0, 29), st.lists(st.integers(0, 1), min_size=1, max_size=6)),
)
def test_a_span_judged_again_gives_what_a_whole_pass_gives(before: list[int], changed: tuple[int, list[int]]) -> None:
    start, new = changed
    after = [*before[:start], *new, *before[start + len(new) :]]
    until = len(after) * STEP_MS
    old = too_high(before, 0, len(before) * STEP_MS, None)
    found, end = judge_span(
        lambda a, b, carried: too_high(after, a, b, carried),
        open_at(old, start * STEP_MS),
        start * STEP_MS,
        (start + len(new) + MEMORY_STEPS) * STEP_MS,
        until,
        lambda at: open_at(old, at) is not None,
    )
    kept = [v for v in old if v.cleared_ms is not None and v.cleared_ms < start * STEP_MS]
    kept += [v for v in old if v.opened_ms >= end]
    whole = too_high(after, 0, until, None)
    assert sorted([*kept, *found], key=lambda v: v.opened_ms) == whole


def test_judging_stops_where_nothing_more_can_have_changed() -> None:
    seen = []

    def judge(start: int, end: int, carried: Verdict | None) -> list[Verdict]:
        seen.append((start, end))
        return []

    _, end = judge_span(judge, None, 0, 7 * STEP_MS, 10 * PIECE_MS, lambda _: False)
    assert end == 7 * STEP_MS
    assert seen == [(0, 7 * STEP_MS)]


def test_a_spell_that_goes_on_is_followed_to_its_end() -> None:
    def judge(start: int, end: int, carried: Verdict | None) -> list[Verdict]:
        return [Verdict("high", carried.opened_ms if carried else start, None)]

    found, end = judge_span(judge, None, 0, STEP_MS, 3 * PIECE_MS, lambda _: False)
    assert end == 3 * PIECE_MS
    assert found == [Verdict("high", 0, None)]
