"""Tables of wheels as people paste them. All names are invented."""

from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collector.errors import EntryRefused
from dashboard.wheels.existing import LIKELY, SURE
from dashboard.wheels.pasted import COLUMNS, SKIP, Column, found_in, is_table, read_table
from tests.dashboard.wheels.test_existing import HABITS, KNOWN

HEADED = """Code\tCheese\tMade\tWeight (kg)\tWhere\tRemarks
24-07B\ttomme\t03/02/2026\t2,1\tlower fridge\tscar
24-08\tgouda\t\t3,25\tcellar\t
24-09\t\t5 Mar\t-\t?\t"two
"""
BARE = """A1;3.2.26;2,1 kg;lower fridge
A2;4.2.26;;cellar
A3;;1 850 g;
A4;6.2.26;3,05 kg;upper fridge
"""
COMMAS = """wheel,style,lb
W1,blue,"7 lb 2 oz"
W2,gouda,6.5
"""


def kinds(text: str) -> list[str]:
    return [column.kind for column in read_table(text, HABITS, KNOWN).columns]


def test_a_heading_names_the_columns() -> None:
    table = read_table(HEADED.replace('"two', "two"), HABITS, KNOWN)
    assert [c.kind for c in table.columns] == ["code", "style_id", "made_on", "weight_g", "place_id", "notes"]
    assert {c.confidence for c in table.columns} == {SURE}
    assert table.columns[3] == Column("weight_g", SURE, "Weight (kg)", "kg")
    assert table.separator == "\t"


def test_blank_cells_are_blank() -> None:
    found = found_in(read_table(HEADED.replace('"two', "two"), HABITS, KNOWN), HABITS, KNOWN)
    assert [{name: guess.value for name, guess in one.fields.items()} for one in found] == [
        {
            "code": "24-07B",
            "style_id": "S1",
            "made_on": date(2026, 2, 3),
            "weight_g": 2_100,
            "place_id": "P1",
            "notes": "scar",
        },
        {"code": "24-08", "style_id": "S2", "weight_g": 3_250, "place_id": "P3"},
        {"code": "24-09", "made_on": date(2026, 3, 5), "notes": "two"},
    ]
    assert not any(one.problems for one in found)


def test_without_a_heading_the_cells_tell() -> None:
    table = read_table(BARE, HABITS, KNOWN)
    assert [c.kind for c in table.columns] == ["code", "made_on", "weight_g", "place_id"]
    assert {c.confidence for c in table.columns} <= {LIKELY}
    found = found_in(table, HABITS, KNOWN)
    assert [one.value("weight_g") for one in found] == [2_100, None, 1_850, 3_050]
    assert [one.value("made_on") for one in found][:2] == [date(2026, 2, 3), date(2026, 2, 4)]


def test_cells_in_quotes_may_hold_the_separator() -> None:
    text = 'wheel,style,notes\nW1,blue,"salty, sharp"\nW2,gouda,mild\n'
    found = found_in(read_table(text, HABITS, KNOWN), HABITS, KNOWN)
    assert found[0].value("notes") == "salty, sharp"


def test_the_unit_of_the_heading_holds_for_bare_numbers() -> None:
    found = found_in(read_table(COMMAS, HABITS, KNOWN), HABITS, KNOWN)
    assert [round(one.value("weight_g")) for one in found] == [3_232, 2_948]


def test_a_column_can_be_set_right() -> None:
    table = read_table(BARE, HABITS, KNOWN)
    mended = replace(table, columns=(Column("notes", SURE), Column(SKIP, SURE), *table.columns[2:]))
    found = found_in(mended, HABITS, KNOWN)
    assert found[0].value("notes") == "A1"
    assert found[0].value("made_on") is None


def test_what_cannot_be_read_is_named_and_kept() -> None:
    text = "Code\tMade\tWeight\tPlace\nA1\t30 Feb\theavy\tthe moon\nA2\t2026-02-03\t2\tcellar\n"
    found = found_in(read_table(text, HABITS, KNOWN), HABITS, KNOWN)
    assert [field for field, _ in found[0].problems] == ["made_on", "weight_g", "place_id"]
    assert found[0].value("notes") == "Made: 30 Feb / Weight: heavy / Place: the moon"
    assert found[1].problems == ()


def test_a_day_to_come_is_named() -> None:
    later = (HABITS.today + timedelta(days=3)).isoformat()
    found = found_in(read_table(f"Code\tMade\nA1\t{later}\nA2\t\n", HABITS, KNOWN), HABITS, KNOWN)
    assert found[0].problems[0][1].startswith("made must not be after today")


@pytest.mark.parametrize(
    ("text", "table"),
    [
        (HEADED, True),
        (BARE, True),
        (COMMAS, True),
        ("A1\ttomme", True),
        ("24-07B tomme 3 Feb 2.1 kg lower fridge", False),
        ("24-07B tomme, 3 Feb, 2,1 kg\nbig wheel\n24-08 gouda", False),
        ("", False),
    ],
)
def test_a_table_is_told_from_free_lines(text: str, table: bool) -> None:
    assert is_table(text) is table


def test_free_lines_are_no_table() -> None:
    with pytest.raises(EntryRefused, match="table has no tabs"):
        read_table("A1 tomme\nA2 gouda", HABITS, KNOWN)


def test_sixty_wheels_in_one_paste() -> None:
    rows = [f"W{n}\ttomme\t{date(2025, 6, 1) + timedelta(days=n)}\t{2 + n / 100:.2f}\tcellar" for n in range(60)]
    found = found_in(read_table("\n".join(rows), HABITS, KNOWN), HABITS, KNOWN)
    assert len(found) == 60
    assert all(len(one.fields) == 5 and not one.problems for one in found)


def test_a_table_that_is_too_wide_is_refused() -> None:
    with pytest.raises(EntryRefused, match="40 columns, got 2 and 60"):
        read_table("\n".join(["\t".join("x" * 60)] * 2), HABITS, KNOWN)


def test_every_kind_of_column_can_be_read() -> None:
    text = "code;style;made;weight;place;covering;pieces;diameter;notes\nA;gouda;1 Feb;2 kg;cellar;waxed;3;20 cm;x\n"
    found = found_in(read_table(text + text.splitlines()[1], HABITS, KNOWN), HABITS, KNOWN)
    assert set(found[0].fields) == set(COLUMNS)
    assert (found[0].value("diameter_mm"), found[0].value("covering")) == (200, "wax")


cells = st.sampled_from(["", "A1", "2,1", "3 Feb", "tomme", "=1+1", '"', "cellar", "900 kg", "½", "\x00", "a,b"])


@given(
    st.sampled_from("\t;,|"),
    st.lists(st.lists(cells, min_size=2, max_size=5), min_size=2, max_size=6),
)
def test_any_table_is_read_or_refused(separator: str, rows: list[list[str]]) -> None:
    text = "\n".join(separator.join(row) for row in rows)
    try:
        found = found_in(read_table(text, HABITS, KNOWN), HABITS, KNOWN)
    except EntryRefused:
        found = []
    assert all(one.line is not None for one in found)
