"""Lines to confirm: what was read comes back as it was, what is changed or left out is."""

from datetime import date
from zoneinfo import ZoneInfo

import pytest

from collector.errors import EntryRefused
from dashboard.rounds.confirmed import found_in, texts_of
from dashboard.wheels.days_typed import Habits
from dashboard.wheels.existing import Known, read_lines

HABITS = Habits(date(2026, 3, 12), ZoneInfo("UTC"))
KNOWN = Known({"lower fridge": "place-1"}, {"tomme, natural rind": "style-1"})
LINES = "24-07B tomme 3 Feb 2.1 kg lower fridge\n14 pieces 240 g each waxed\n24-09 2 lb 3 oz, cracked a little"


def test_what_was_read_comes_back_as_it_was() -> None:
    read = read_lines(LINES, HABITS, KNOWN, "kg")
    back = found_in(texts_of(read), "kg")
    for one, other in zip(read, back, strict=True):
        assert other.line == one.line
        assert {name: other.value(name) for name in one.fields} == {
            name: guess.value for name, guess in one.fields.items()
        }


def test_a_line_that_is_left_out_and_a_field_that_is_changed() -> None:
    texts = texts_of(read_lines(LINES, HABITS, KNOWN, "kg"))
    found = found_in({**texts, "out-1": "yes", "code-0": "24-07C", "weight_g-0": "2,3 kg", "made_on-0": ""}, "kg")
    assert [one.value("code") for one in found] == ["24-07C", "24-09"]
    assert found[0].value("weight_g") == 2300
    assert found[0].value("made_on") is None


@pytest.mark.parametrize(
    ("name", "text"),
    [("weight_g", "heavy"), ("made_on", "soon"), ("pieces", "many"), ("pieces", "0"), ("covering", "a hat")],
)
def test_what_cannot_be_read_is_said_by_its_line(name: str, text: str) -> None:
    texts = texts_of(read_lines(LINES, HABITS, KNOWN, "kg"))
    with pytest.raises(EntryRefused) as refused:
        found_in({**texts, f"{name}-2": text}, "kg")
    assert refused.value.field == f"{name}-2"
