"""Putting a wheel before another one: it stands there afterwards, and nobody else has moved."""

from collections.abc import Sequence

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dashboard.rounds.shelf_order import MOST, put_before


def standing(order: Sequence[tuple[str, int | None]]) -> list[str]:
    return [name for name, _ in sorted(order, key=lambda one: (one[1] is None, one[1] or 0, one[0]))]


@given(st.data(), st.lists(st.none() | st.integers(0, 50), min_size=1, max_size=12))
def test_it_stands_there_and_nobody_else_has_moved(data: st.DataObject, positions: list[int | None]) -> None:
    known: dict[str, int | None] = {f"w{number:02d}": position for number, position in enumerate(positions)}
    for _ in range(8):
        order = [(name, known[name]) for name in standing(list(known.items()))]
        names = [name for name, _ in order]
        taken = data.draw(st.sampled_from(names))
        before = data.draw(st.none() | st.sampled_from(names))
        known |= put_before(order, taken, before)
        rest = [name for name in names if name != taken]
        at = len(rest) if before is None else rest.index(before) if before != taken else names.index(taken)
        assert standing(list(known.items())) == [*rest[:at], taken, *rest[at:]]
        assert all(position is None or 0 <= position <= MOST for position in known.values())


def test_where_there_is_room_only_one_wheel_gets_a_new_place() -> None:
    order = [("a", 1_000), ("b", 2_000), ("c", 3_000)]
    assert put_before(order, "c", "b") == {"c": 1_500}
    assert put_before(order, "a", None) == {"a": 4_000}


def test_a_wheel_of_another_shelf_is_refused() -> None:
    with pytest.raises(ValueError, match="wheel x is not on this shelf"):
        put_before([("a", 1)], "x", "a")
    with pytest.raises(ValueError, match="wheel y is not on this shelf"):
        put_before([("a", 1)], "a", "y")
