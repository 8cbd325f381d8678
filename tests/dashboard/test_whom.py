"""Whom an air suits: bands are invented, the sentences are those of design.md's card."""

import pytest

from dashboard.whom import Group, Limits, complaints, who_suffers

WASHED = Group("washed rind", 6, Limits(10, 14, 92, 97))
TOMME = Group("tomme", 3, Limits(10, 13, 85, 92))
WRAPPED = Group("tomme, wrapped", 2, Limits(10, 13, 85, 92), open_to_air=False)


def test_the_card_says_who_suffers() -> None:
    assert who_suffers([WASHED, TOMME], 12, 95) == "Fine for washed rind (6), too damp for tomme (3)"
    assert who_suffers([TOMME, WASHED], 12, 92.5) == "Fine for tomme (3) and washed rind (6)"
    assert who_suffers([TOMME], 15, 80) == "Too warm and too dry for tomme (3)"


def test_what_lies_airtight_does_not_feel_the_humidity() -> None:
    assert who_suffers([WRAPPED], 12, 60) == "Fine for tomme, wrapped (2)"
    assert who_suffers([WRAPPED], 16, 60) == "Too warm for tomme, wrapped (2)"


def test_nobody_suffers_from_what_the_probe_may_have_invented() -> None:
    assert who_suffers([TOMME], 12, 94.5, humidity_u_pct=3) == "Fine for tomme (3)"
    assert who_suffers([TOMME], 12, 95.5, humidity_u_pct=3) == "Too damp for tomme (3)"


def test_where_nobody_stands_or_nothing_is_known_nothing_is_said() -> None:
    assert who_suffers([], 12, 90) == ""
    assert who_suffers([TOMME], None, None) == ""
    assert who_suffers([Group("own", 2, Limits())], 12, 90) == ""


@pytest.mark.parametrize(
    ("t", "rh", "said"),
    [
        (9.9, 90, ["too cold"]),
        (10, 85, []),
        (13, 92, []),
        (13.1, 92.1, ["too warm", "too damp"]),
        (None, 84, ["too dry"]),
    ],
)
def test_both_ends_belong_to_a_band(t: float | None, rh: float, said: list[str]) -> None:
    assert complaints(TOMME.likes, t, rh) == said
