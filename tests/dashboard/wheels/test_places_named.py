"""Places that pasted wheels name before the household has them. All names are invented."""

from datetime import date
from zoneinfo import ZoneInfo

import pytest

from dashboard.wheels.days_typed import Habits
from dashboard.wheels.existing import Known, read_lines
from dashboard.wheels.pasted import read_table
from dashboard.wheels.places_named import MOST, in_lines, in_table, kind_of

HABITS = Habits(date(2026, 3, 12), ZoneInfo("Europe/Paris"))
KNOWN = Known(places={"lower fridge": "P1"}, styles={"tomme, natural rind": "S1"})


def named(text: str) -> list[str]:
    return in_lines(read_lines(text, HABITS, KNOWN))


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("A1 tomme 2 kg cellar", ["cellar"]),
        ("A1 tomme 2 kg, top shelf\nA2 tomme Top Shelf", ["top shelf"]),
        ("A1 tomme lower fridge", []),
        ("alpine from Easter 8 kg cellar", ["cellar"]),  # what stood apart is not read together
        ("Blue one, 1 July 2025, 1 lb 4 oz, top shelf", ["top shelf"]),
        ("A1 tomme 2 kg", []),
        ("A1 gift for the miller, do not touch", []),
        ("A1 tomme second shelf from the left", []),
    ],
)
def test_words_left_over_that_are_a_place_alone(text: str, expected: list[str]) -> None:
    assert named(text) == expected


def test_a_column_of_places_tells_them_whatever_they_are_called() -> None:
    table = read_table(
        "code\tmade\tplace\nA1\t3 Feb\tUncle's\nA2\t4 Feb\tlower fridge\nA3\t4 Feb\tuncle's\nA4\t4 Feb\t-\n",
        HABITS,
        KNOWN,
    )
    assert in_table(table, KNOWN.places) == ["Uncle's"]


def test_a_whole_column_of_other_words_is_cut() -> None:
    rows = "".join(f"A{n}\t3 Feb\tplace {n}x\n" for n in range(40))
    assert len(in_table(read_table("code\tmade\tplace\n" + rows, HABITS, KNOWN), {})) == MOST


@pytest.mark.parametrize(
    ("name", "kind"),
    [
        ("top shelf", "shelf"),
        ("Rear Cellar", "cave"),
        ("drying table", "counter"),
        ("cold box", "box"),
        ("Uncle's", "cave"),
    ],
)
def test_what_kind_of_place_it_is(name: str, kind: str) -> None:
    assert kind_of(name) == kind
