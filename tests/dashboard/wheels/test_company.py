"""Bad company. Common practice, no source."""

from dashboard.wheels.company import NOTES, RINDS, Neighbour, bad_company
from dashboard.wheels.kinds.rind import RIND_KINDS
from dashboard.wheels.kinds.styles import STYLES


def a_neighbour(code: str, rind: str, covering: str = "bare", *notes: str) -> Neighbour:
    return Neighbour(code, code, rind, covering, frozenset(notes))


BLUE, TOMME, WHITE = a_neighbour("B", "blue"), a_neighbour("T", "natural"), a_neighbour("W", "bloomy")


def test_a_blue_beside_a_bare_tomme_is_told_whichever_of_them_moves() -> None:
    for coming, there in (([BLUE], [TOMME]), ([TOMME], [BLUE])):
        found = bad_company(coming, there)
        assert [(c.gives, c.takes) for c in found] == [(("B",), ("T",))]
        assert "blue mould travels" in found[0].words


def test_a_strong_washed_rind_beside_a_white_one_is_told_both_ways() -> None:
    found = bad_company([a_neighbour("S", "washed")], [WHITE])
    assert [(c.gives, c.takes) for c in found] == [(("S",), ("W",)), (("W",), ("S",))]


def test_what_lies_airtight_neither_gives_nor_takes() -> None:
    assert bad_company([a_neighbour("B", "blue", "barrier_bag")], [TOMME]) == []
    assert bad_company([BLUE], [a_neighbour("T", "natural", "wax")]) == []


def test_like_beside_like_is_no_news() -> None:
    assert bad_company([TOMME], [a_neighbour("U", "natural")]) == []
    assert bad_company([BLUE], []) == []


def test_mites_are_told_of() -> None:
    found = bad_company([a_neighbour("M", "natural", "bare", "mites")], [TOMME])
    assert [(c.gives, c.takes) for c in found] == [(("M",), ("T",))]


def test_the_table_uses_rinds_and_notes_that_exist() -> None:
    rinds = {style.rind for style in STYLES.values()} | {"fresh"}
    assert {row.gives for row in RINDS} | {rind for row in (*RINDS, *NOTES) for rind in row.takes} <= rinds
    assert {row.gives for row in NOTES} <= set(RIND_KINDS)
