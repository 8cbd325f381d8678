"""Moving wheels. How long they sweat is tested where it is computed, against a heat balance."""

import math

import pytest
from sqlalchemy import Connection

from collector.records.facts import Place
from collector.rules.wheel_heat import Sweating, sweating_after_move
from dashboard.wheels.bodies.doings import Tasting
from dashboard.wheels.book import Wheel, living
from dashboard.wheels.entries import put_all
from dashboard.wheels.entry_rows import entries_where
from dashboard.wheels.kinds.styles import STYLES
from dashboard.wheels.moves import (
    ADVICE,
    COVERED_ADVICE,
    AirNow,
    before_moving,
    move_entries,
    sweating_words,
    undo_entries,
    within,
)
from dashboard.wheels.tables import entry
from tests.dashboard.wheels.builders import (
    CELLAR,
    OTHER,
    SHELF,
    STYLE,
    WHEEL,
    a_wheel,
    an_id,
    covered,
    day,
    moved,
    new,
    weighed,
)

COLD, WARM = AirNow(4, 88), AirNow(12, 88)
BLUE = an_id()


def wheels_of(db: Connection, *entries: object) -> list[Wheel]:
    put_all(db, entries, received_at=day(400))
    return living(db)


def a_shelf(db: Connection) -> list[Wheel]:
    """A blue on the left shelf and a bare tomme in the cellar."""
    return wheels_of(
        db,
        new(STYLES["blue"], wheel=None, style_id=BLUE),
        new(STYLES["tomme"], wheel=None, style_id=STYLE),
        new(a_wheel("B", style_id=BLUE)),
        new(moved(position=2), place_id=SHELF),
        new(weighed(6_000), 1),
        new(a_wheel("T", style_id=STYLE), wheel=OTHER),
        new(moved(), wheel=OTHER, place_id=CELLAR),
    )


RINDS = {BLUE: "blue", STYLE: "natural"}


def split(wheels: list[Wheel]) -> tuple[list[Wheel], list[Wheel]]:
    return [w for w in wheels if w.code == "B"], [w for w in wheels if w.code == "T"]


def test_from_cold_to_warm_it_is_said_how_long_they_sweat_and_what_to_do(db: Connection) -> None:
    moving, there = split(a_shelf(db))
    word = before_moving(moving, there, RINDS, COLD, WARM)
    assert word.sweating == sweating_after_move(4, 12, 88, 6.0)
    assert word.advice == ADVICE
    assert [c.gives for c in word.company] == [("B",)]


@pytest.mark.parametrize(
    ("from_air", "to_air"),
    [(WARM, COLD), (WARM, WARM), (AirNow(), WARM), (COLD, AirNow(12, None)), (COLD, AirNow(None, 88))],
)
def test_without_sweat_or_knowledge_nothing_is_said_of_it(db: Connection, from_air: AirNow, to_air: AirNow) -> None:
    moving, there = split(a_shelf(db))
    word = before_moving(moving, there, RINDS, from_air, to_air)
    assert (word.sweating, word.advice) == (None, ())


def test_a_wheel_nobody_weighed_is_taken_as_a_usual_one(db: Connection) -> None:
    _, moving = split(a_shelf(db))
    assert before_moving(moving, [], RINDS, COLD, WARM).sweating == sweating_after_move(4, 12, 88)


def test_a_bagged_wheel_sweats_on_its_bag(db: Connection) -> None:
    put_all(db, [new(covered("barrier_bag"), 5)], received_at=day(9))
    moving, there = split(a_shelf(db))
    word = before_moving(moving, there, RINDS, COLD, WARM)
    assert word.advice == COVERED_ADVICE
    assert word.company == ()


def test_wheels_that_move_within_their_place_are_no_news_to_each_other(db: Connection) -> None:
    wheels = a_shelf(db)
    assert before_moving(wheels, wheels, RINDS, WARM, WARM).company == ()


def test_a_move_is_one_entry_a_wheel_and_is_taken_back_as_one(db: Connection) -> None:
    wheels = a_shelf(db)
    group = move_entries(wheels, CELLAR, done_at=day(9), make_id=an_id, zone="Europe/Paris")
    put_all(db, group, received_at=day(9))
    assert {w.place_id for w in living(db)} == {CELLAR}
    assert {w.code: w.position for w in living(db)} == {"B": 2, "T": None}
    kept = entries_where(db, entry.c.group_id == group[0].group_id)
    put_all(db, undo_entries(kept, done_at=day(10), make_id=an_id), received_at=day(10))
    assert {w.code: w.place_id for w in living(db)} == {"B": SHELF, "T": CELLAR}


def test_a_cave_holds_its_shelves_and_boxes() -> None:
    places = [Place("c", "cave", "cave"), Place("s", "shelf", "shelf", "c"), Place("b", "box", "box", "s")]
    assert within([*places, Place("o", "other", "cave")], "c") == {"c", "s", "b"}
    assert within([Place("x", "x", "cave", "y"), Place("y", "y", "cave", "x")], "x") == {"x", "y"}


@pytest.mark.parametrize(
    ("hours", "words"),
    [
        ((3.2, 2.1, 5.4), "They come from the cold and will sweat for about 3 h (2 to 5)."),
        ((0.6, 0.4, 0.9), "They come from the cold and will sweat for about 0.5 h (0.5 to 1)."),
        ((2.1, 1.9, 2.4), "They come from the cold and will sweat for about 2 h."),
        ((math.inf, math.inf, math.inf), "They will sweat for as long as that air is saturated."),
    ],
)
def test_sweating_is_said_in_words(hours: tuple[float, float, float], words: str) -> None:
    assert sweating_words(Sweating(10, *hours, water_g=9)) == words


def test_a_tasting_is_no_move(db: Connection) -> None:
    found = wheels_of(db, new(a_wheel()), new(Tasting(verdict=3), 4))
    assert found[0].place_id is None
    assert found[0].id == WHEEL
