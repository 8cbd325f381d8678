"""The lines between the follower's process and the collector."""

import json
from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest

from collector.errors import StoreUnavailable
from collector.readings.follower import wishes
from collector.readings.follower.spans import Owed, Span, Vanished
from collector.readings.follower.state import FollowerState
from tests.builders import START_AT

SPANS = [Span(1, 0, 10), Span(2, 5, 9, raw=False)]
OWED, GONE = Owed(7, SPANS[1]), [Vanished(1, 2, 0, 600_000)]
REFUSED = [("reading,probe=Käse value=1.0 5", "too\nold")]


class Noting:
    """A writer that notes what it was asked for."""

    def __init__(self) -> None:
        self.asked: list[tuple[Any, ...]] = []

    def begin(self) -> None:
        self.asked.append(("begin",))

    def moved(self, *told: Any) -> None:
        self.asked.append(("moved", *told))

    def paid(self, *told: Any) -> None:
        self.asked.append(("paid", *told))

    def taken_back(self, *told: Any) -> None:
        self.asked.append(("taken_back", *told))

    def set_aside(self, *told: Any) -> None:
        self.asked.append(("set_aside", *told))


WISHES = {
    ("begin",): {"do": "begin"},
    ("moved", 3, tuple(SPANS)): wishes.moved(3, SPANS),
    ("paid", OWED, 8): wishes.paid(OWED, 8),
    ("taken_back", tuple(GONE)): wishes.taken_back(GONE),
    ("set_aside", tuple(REFUSED), 5): wishes.set_aside(REFUSED, 5),
}


@pytest.mark.parametrize("wanted", WISHES, ids=lambda wanted: wanted[0])
def test_a_wish_is_fulfilled_as_it_was_meant(wanted: tuple[Any, ...]) -> None:
    writer = Noting()
    line = wishes.line_of(WISHES[wanted])
    assert line.count("\n") == 1
    wishes.fulfil(writer, json.loads(line))
    assert [tuple(tuple(p) if isinstance(p, list) else p for p in asked) for asked in writer.asked] == [wanted]


def test_how_it_goes_is_told_as_it_is() -> None:
    state = FollowerState("away", "does not answer", START_AT, None, START_AT + timedelta(hours=1), points=5)
    for told in (state, replace(state, complete_at=None)):
        assert wishes.state_of(json.loads(wishes.line_of(wishes.told(told)))) == told


def test_a_store_that_refuses_is_told_to_whoever_wished() -> None:
    wishes.raise_trouble({})
    with pytest.raises(StoreUnavailable, match="cannot write to /data/readings: disk full, 3 readings wait"):
        wishes.raise_trouble(wishes.trouble(StoreUnavailable("/data/readings", 3, "disk full")))


def test_a_wish_that_nobody_knows_is_refused() -> None:
    with pytest.raises(ValueError, match="got 'forget'"):
        wishes.fulfil(Noting(), {"do": "forget"})
