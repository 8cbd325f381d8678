"""Vat or cave: the square, what stands out, and when the numbers are too small."""

import random
from collections.abc import Iterable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dashboard.lookback.compared import WheelSeen
from dashboard.lookback.vat_or_cave import Cell, about_kind, about_note, square_of


def rows(*, sick: Iterable[str] = (), unseen: Iterable[str] = (), **made: str) -> list[WheelSeen]:
    """Wheels by make: rows(A="pppq") has A1, A2, A3 in place p and A4 in place q."""
    return [
        WheelSeen(
            f"{make}{number}",
            f"{make}{number}",
            make,
            (place,),
            None if f"{make}{number}" in set(unseen) else f"{make}{number}" in set(sick),
        )
        for make, places in made.items()
        for number, place in enumerate(places, 1)
    ]


def test_the_square_leaves_the_wheel_out_and_counts_the_unseen_apart() -> None:
    known = rows(A="ppq", B="pq", sick=("A1", "A3"), unseen=("B1",))
    square = square_of(known, "A1")
    assert square.same_both == Cell(clean=("A2",))
    assert square.same_make == Cell(sick=("A3",))
    assert square.same_place == Cell(unseen=("B1",))
    assert square.neither == Cell(clean=("B2",))
    assert about_note(known, "A1").unseen == 1


def test_a_make_that_is_sick_wherever_it_stands_points_to_the_vat() -> None:
    answer = about_note(rows(A="ppqq", B="ppqq", C="ppqq", sick=("A1", "A2", "A3", "A4")), "A1")
    assert answer.verdict == "vat"
    assert (answer.vats[0].with_, answer.vats[0].without) == ((3, 3), (0, 8))
    assert not answer.caves[0].stands_out


def test_a_place_that_is_sick_whatever_stands_there_points_to_the_cave() -> None:
    answer = about_note(rows(A="ppqq", B="ppqq", C="ppqq", sick=("A1", "A2", "B1", "B2", "C1", "C2")), "A1")
    assert answer.verdict == "cave"
    assert (answer.caves[0].with_, answer.caves[0].without) == ((5, 5), (0, 6))


def test_a_make_that_stands_in_one_place_of_its_own_cannot_be_told_from_it() -> None:
    """All of A are sick and all of A stand in p, alone: neither comparison has anything to compare with."""
    answer = about_note(rows(A="pppppp", B="qqqqqq", sick=[f"A{n}" for n in range(1, 7)]), "A1")
    assert answer.verdict == "too_small"
    assert [one.p for one in (*answer.vats, *answer.caves)] == [None, None]


def test_two_wheels_are_too_few_to_tell() -> None:
    answer = about_note(rows(A="pq", B="pq", sick=("A1", "A2")), "A1")
    assert answer.verdict == "too_small"
    assert answer.vats[0].finding == "too_small"


def test_with_numbers_enough_and_no_pattern_neither_stands_out() -> None:
    makes = dict.fromkeys("ABCDEF", "pppqqq")
    answer = about_note(rows(**makes, sick=("A1", "A5", "B4", "C2", "E3", "D1", "F4")), "A1")
    assert answer.verdict == "neither"


def test_nobody_looked_at_another_wheel() -> None:
    assert about_note(rows(A="pp", sick=("A1",), unseen=("A2",)), "A1").verdict == "nothing"
    assert about_note(rows(A="p", sick=("A1",)), "A1").verdict == "nothing"


def test_where_the_air_is_not_asked_the_cave_is_not_compared() -> None:
    known = rows(A="pppqq", B="pppqq", C="pppqq", sick=("A1", "B1", "B2", "C1", "C2", "A2", "A3", "B3", "C3"))
    assert about_note(known, "A1").verdict == "cave"
    answer = about_note(known, "A1", air_asked=False)
    assert (answer.caves, answer.verdict) == ((), "too_small")
    assert about_kind(known, air_asked=False).caves == ()


def test_what_is_not_known_is_compared_with_nothing() -> None:
    known = [WheelSeen("a", "a", sick=True), WheelSeen("b", "b", "A", ("p",), False)]
    answer = about_note(known, "a")
    assert (answer.vats, answer.caves, answer.verdict) == ((), (), "too_small")
    with pytest.raises(ValueError, match="wheel_id must be among the 2 rows, got c"):
        about_note(known, "c")


def with_brine(known: list[WheelSeen], tubs: dict[str, str]) -> list[WheelSeen]:
    return [
        WheelSeen(row.wheel_id, row.code, row.make, row.places, row.sick, {"brine": frozenset({tubs[row.make]})})
        for row in known
    ]


def test_eight_sick_wheels_of_one_make_say_nothing_about_its_brine_tub() -> None:
    known = rows(A="ppppqqqq", B="ppqq", C="ppqq", sick=[f"A{n}" for n in range(1, 9)])
    answer = about_kind(with_brine(known, {"A": "old", "B": "new", "C": "new"}))
    brine = next(one for one in answer.others if one.value == "old")
    assert (brine.with_, brine.without, brine.of_make) == ((1, 1), (0, 2), True)
    assert brine.finding == "too_small"


def test_a_brine_tub_whose_makes_are_all_sick_stands_out() -> None:
    makes = dict.fromkeys("ABCDEFGHIJ", "pq")
    known = rows(**makes, sick=[f"{make}{n}" for make in "ABCDE" for n in (1, 2)])
    answer = about_kind(with_brine(known, {make: "old" if make in "ABCDE" else "new" for make in makes}))
    assert [(one.factor, one.value, one.finding) for one in answer.others] == [("brine", "old", "clear")]
    assert answer.others[0].p == pytest.approx(2 / 252)  # 5 of 5 and 0 of 5, both sides: Fisher's exact test


def test_a_board_is_compared_within_make_and_place_and_the_unknown_left_out() -> None:
    known = [
        WheelSeen(f"{n}", f"{n}", "A", ("p",), n < 6, {"board": frozenset({"old" if n < 6 else "new"})} if n else {})
        for n in range(12)
    ]
    answer = about_note(known, "1")
    assert [(one.factor, one.with_, one.without, one.finding) for one in answer.others] == [
        ("board", (4, 4), (0, 6), "clear")
    ]


def test_every_look_is_paid_for() -> None:
    """Ten tubs with one chance finding among them: alone it would stand out."""
    makes = dict.fromkeys("ABCDEFGHIJ", "pq")
    known = [
        WheelSeen(
            row.wheel_id, row.code, row.make, row.places, row.sick,
            {name: frozenset({"old" if row.make in own else "new"}) for name, own in {
                "brine": "ABCDE", "milk": "ACEGI", "culture": "ABEFJ", "mould": "BCFGI", "rennet": "CDEFH",
            }.items()},
        )
        for row in rows(**makes, sick=("A1", "B1", "C1", "D1"))
    ]  # fmt: skip
    brine = next(one for one in about_kind(known).others if (one.factor, one.value) == ("brine", "old"))
    assert brine.p == pytest.approx(10 / 210)  # 4 of 5 and 0 of 5, both sides: Fisher's exact test
    assert brine.adjusted is not None
    assert brine.adjusted > 0.05
    assert brine.finding == "not"


def test_chance_alone_names_a_vat_or_cave_in_at_most_one_of_twenty() -> None:
    """Sick at random, 12 wheels of 4 makes in 2 places: at most 5 % and three standard deviations of 1,000."""
    drawn, named = random.Random(7), 0
    for _ in range(1_000):
        known = rows(A="ppqqpq", B="ppqq", C="ppqqpq", D="ppqq")
        sick = {"A1", *drawn.sample([row.code for row in known], drawn.randrange(3, 12))}
        named += about_note(rows(A="ppqqpq", B="ppqq", C="ppqqpq", D="ppqq", sick=sick), "A1").verdict in {
            "vat", "cave", "both",
        }  # fmt: skip
    assert named <= 50 + 3 * (1_000 * 0.05 * 0.95) ** 0.5


@given(st.randoms())
def test_the_order_of_the_rows_does_not_matter(drawn: random.Random) -> None:
    known = with_brine(rows(A="ppqq", B="ppqq", sick=("A1", "A2", "B3"), unseen=("B1",)), {"A": "old", "B": "new"})
    mixed = list(known)
    drawn.shuffle(mixed)
    assert about_kind(mixed) == about_kind(known)
    assert about_note(mixed, "A1").vats == about_note(known, "A1").vats
