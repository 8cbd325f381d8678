"""Facts about the state machine. Its numbers (6 h, 24 h, twice the grace) are our choice, stated in its module."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from collector.air.model import STEP_MS
from collector.rules.spells import LOST_STEPS, REACH_STEPS, Spell, Steps, find_spells, grace_filled, open_steps


def steps(said: str) -> Steps:
    """o outside, i inside, ? unknown, - between."""
    letters = np.array(list(said))
    return Steps(letters == "o", letters == "i", letters == "?")


def found(said: str, grace_steps: int = 3, first: int = 0, carried: bool = False) -> list[Spell]:
    grace_ms = np.full(len(said), grace_steps * STEP_MS, dtype=np.int64)
    return find_spells(steps(said), grace_ms, first, carried)


def test_a_spell_opens_when_the_grace_is_used_up_and_ends_well_inside() -> None:
    assert found("iioooo--ii") == [Spell(since=2, opened=4, cleared=8)]


def test_being_outside_for_less_than_the_grace_is_nothing() -> None:
    assert found("ioo-iooioo") == []


def test_no_grace_opens_at_once() -> None:
    assert found("iio", grace_steps=0) == [Spell(since=2, opened=2, cleared=None)]


def test_grace_that_is_no_whole_step_is_rounded_up() -> None:
    spells = find_spells(steps("oooo"), np.full(4, STEP_MS + 1, dtype=np.int64), 0, False)
    assert spells == [Spell(since=0, opened=1, cleared=None)]


def test_steps_between_the_limits_neither_count_nor_end() -> None:
    assert found("io-oo-oi") == [Spell(since=1, opened=4, cleared=7)]


def test_outside_steps_must_fill_the_grace_within_one_and_a_quarter_times_itself() -> None:
    # Grace 4: within five known steps.
    assert found("o-ooo", grace_steps=4) == [Spell(since=0, opened=4, cleared=None)]
    assert found("o-oo--oo--oo-o-oo", grace_steps=4) == []
    assert found("o-o??oo", grace_steps=4) == [Spell(since=0, opened=6, cleared=None)]


def test_unknown_steps_neither_count_nor_end() -> None:
    assert found("oo????o???i") == [Spell(since=0, opened=6, cleared=10)]


def test_six_unknown_hours_empty_the_count() -> None:
    assert found("oo" + 35 * "?" + "o") == [Spell(since=0, opened=37, cleared=None)]
    assert found("oo" + 36 * "?" + "o") == []


def test_an_unknown_day_ends_an_open_spell_as_lost() -> None:
    assert found("ooo" + (LOST_STEPS - 1) * "?") == [Spell(since=0, opened=2, cleared=None)]
    assert found("ooo" + LOST_STEPS * "?" + "oo") == [Spell(since=0, opened=2, cleared=3 + LOST_STEPS - 1, lost=True)]


def test_outside_steps_far_apart_are_not_added_up() -> None:
    # Grace 3 steps: counted over at most 2 * 3 + 36 steps.
    assert found("o" + 20 * "?" + "o" + 19 * "?" + "o") != []
    assert found("o" + 20 * "?" + "o" + 20 * "?" + "o") == []


def test_a_carried_spell_comes_first_and_needs_no_new_grace() -> None:
    assert found("ooo-oii" + "ooo", first=4, carried=True) == [
        Spell(since=None, opened=None, cleared=5),
        Spell(since=7, opened=9, cleared=None),
    ]


def test_the_run_in_counts_towards_the_grace_but_opens_nothing_itself() -> None:
    assert found("ioooio", first=4) == []
    assert found("iioo-o", first=4) == [Spell(since=2, opened=5, cleared=None)]


def test_nothing_judged_finds_nothing() -> None:
    assert found("", first=0) == []
    assert found("ooo", first=3) == []
    assert found("ooo", first=3, carried=True) == [Spell(None, None, None)]


def test_refuses_a_step_that_says_two_things() -> None:
    twice = Steps(np.array([False, True]), np.array([False, True]), np.array([False, False]))
    with pytest.raises(ValueError, match="step 1 must say one thing, got 2"):
        find_spells(twice, np.zeros(2, dtype=np.int64), 0, False)


def test_refuses_arrays_that_do_not_fit() -> None:
    with pytest.raises(ValueError, match="one length, got outside 3, inside 3, unknown 3, grace_ms 2"):
        find_spells(steps("ooo"), np.zeros(2, dtype=np.int64), 0, False)
    with pytest.raises(ValueError, match="first must be from 0 to 3, got 4"):
        find_spells(steps("ooo"), np.zeros(3, dtype=np.int64), 4, False)


RUNS = st.lists(st.tuples(st.sampled_from("oi?-"), st.sampled_from([1, 2, 3, 7, 36, 150])), min_size=1, max_size=25)


@given(RUNS, st.integers(0, 30), st.data())
def test_judging_in_parts_finds_what_one_pass_finds(
    runs: list[tuple[str, int]], grace: int, data: st.DataObject
) -> None:
    said = "".join(letter * times for letter, times in runs)
    whole = found(said, grace)
    cut = data.draw(st.integers(0, len(said)))
    before = found(said[:cut], grace)
    carried = bool(before) and before[-1].cleared is None
    begin = max(0, cut - REACH_STEPS)
    after = found(said[begin:], grace, first=cut - begin, carried=carried)
    assert _opened_and_cleared(before[: len(before) - carried]) + _opened_and_cleared(
        [_moved(s, begin, before[-1] if carried else None) for s in after]
    ) == _opened_and_cleared(whole)


def _moved(spell: Spell, by: int, carried: Spell | None) -> Spell:
    cleared = None if spell.cleared is None else spell.cleared + by
    if spell.opened is None:
        assert carried is not None
        return Spell(carried.since, carried.opened, cleared, spell.lost)
    return Spell((spell.since or 0) + by, spell.opened + by, cleared, spell.lost)


def _opened_and_cleared(spells: list[Spell]) -> list[tuple[int | None, int | None, int | None, bool]]:
    return [(s.since, s.opened, s.cleared, s.lost) for s in spells]


@given(RUNS, st.integers(0, 30))
def test_agrees_with_walking_step_by_step(runs: list[tuple[str, int]], grace: int) -> None:
    said = "".join(letter * times for letter, times in runs)
    assert [(s.opened, s.cleared) for s in found(said, grace)] == _walked(said, max(1, grace))


def _walked(said: str, grace: int) -> list[tuple[int, int | None]]:
    """The module's text, read literally, one step after the other."""
    spells: list[tuple[int, int | None]] = []
    is_open, outside_at, unknown = False, [], 0
    known_at: list[int] = []
    for i, letter in enumerate(said):
        unknown = unknown + 1 if letter == "?" else 0
        if letter == "i" or unknown >= 36:
            outside_at = []
        if is_open and (letter == "i" or unknown >= 144):
            is_open, spells[-1] = False, (spells[-1][0], i)
        if letter != "?":
            known_at.append(i)
        if letter == "o":
            within = known_at[-(grace + -(-grace // 4)) :]
            outside_at = [*(at for at in outside_at if at > i - (2 * grace + 36) and at in within), i]
            if not is_open and len(outside_at) >= grace:
                is_open = True
                spells.append((i, None))
    return spells


@given(RUNS, st.integers(0, 30))
def test_open_steps_are_those_of_the_spells(runs: list[tuple[str, int]], grace: int) -> None:
    said = "".join(letter * times for letter, times in runs)
    expected = np.zeros(len(said), dtype=bool)
    for spell in found(said, grace):
        expected[spell.opened : spell.cleared] = True
    flags = open_steps(steps(said), np.full(len(said), grace * STEP_MS, dtype=np.int64))
    # Beyond a week between its limits a spell is not seen, but nothing is seen that is not there.
    assert not (flags & ~expected).any()
    assert (flags == expected).all() or len(said) > 7 * 144


def test_grace_is_bounded_by_a_day() -> None:
    full, _ = grace_filled(steps(150 * "o"), np.full(150, 10 * 86_400_000, dtype=np.int64))
    assert int(np.argmax(full)) == 143
