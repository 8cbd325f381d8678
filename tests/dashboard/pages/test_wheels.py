"""The lists of wheels and the search over them."""

import re

import pytest
from fastapi.testclient import TestClient
from sqlalchemy import Engine

from dashboard.pages import wheels as wheels_pages
from dashboard.wheels.bodies.doings import Ended, RindNote
from dashboard.wheels.bodies.make import Added, Milk
from tests.dashboard.book_kept import a_make, a_style, a_wheel, enter
from tests.dashboard.dairy import a_place


def codes(page: str) -> list[str]:
    return re.findall(r'href="/wheels/[0-9a-f-]{36}"><span><strong>([^<]+)<', page)


def test_wheels_stand_shelf_by_shelf_with_age_weight_loss_and_what_is_due(guest: TestClient, engine: Engine) -> None:
    with engine.begin() as db:
        cave = a_place(db)
        shelf, other = a_place(db, "Left shelf", "shelf", parent_id=cave), a_place(db, "Box", "box", position=-1)
        wheel = a_wheel(db, "A1", 60, shelf, (2_000.0, 1_900.0), style_id=a_style(db))
        a_wheel(db, "B2", 5, other)
        enter(db, RindNote(note="cat_hair"), 1, wheel_id=wheel)
    page = guest.get("/wheels").text
    assert codes(page) == ["B2", "A1"]  # the box stands before the cave in the person's order
    assert "tomme, 60 days, 1.90 kg" in page
    assert "lost 5.0 % since: into the cave, 2.00 kg" in page
    assert "cat hair" in page
    assert "Left shelf <small>Lower fridge</small>" in page
    assert re.search(r'class="count late">\d', page)


def test_an_empty_book_says_how_to_fill_it(helper: TestClient) -> None:
    page = helper.get("/wheels").text
    assert "No wheel is in the book yet" in page
    assert "/wheels/add" in page


def test_a_finished_wheel_stands_on_the_second_list_only(guest: TestClient, engine: Engine) -> None:
    with engine.begin() as db:
        wheel = a_wheel(db, "A1", 60)
        a_wheel(db, "B2", 60)
        enter(db, Ended(how="given", to_whom="the neighbour"), 0, wheel_id=wheel)
    assert codes(guest.get("/wheels").text) == ["B2"]
    page = guest.get("/wheels/finished").text
    assert codes(page) == ["A1"]
    assert "given away 12 March 2026 at 60 days" in page


def test_of_many_finished_wheels_the_latest_are_shown_and_the_others_counted(
    guest: TestClient, engine: Engine, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(wheels_pages, "MOST_FINISHED", 2)
    with engine.begin() as db:
        for code, ago in (("A1", 3), ("B2", 1), ("C3", 4), ("D4", 2)):
            enter(db, Ended(how="eaten"), ago, wheel_id=a_wheel(db, code, 60))
    for query in ("", "?from=0"):  # asked for nothing, and for something that all of them meet
        page = guest.get(f"/wheels/finished{query}").text
        assert codes(page) == ["B2", "D4"], query
        assert "2 more" in page, query


def test_wheels_are_found_by_each_of_code_style_addition_milk_and_age(guest: TestClient, engine: Engine) -> None:
    with engine.begin() as db:
        tomme, blue = a_style(db), a_style(db, "blue")
        goat = a_make(db, 40, milks=(Milk(species="goat"),), additions=(Added(name="Nettle leaf"),))
        a_wheel(db, "A1", 40, style_id=tomme, make_id=goat)
        a_wheel(db, "B2", 200, style_id=blue)
    for query, found in {
        "code=a1": ["A1"], f"style={blue}": ["B2"], "addition=nettle": ["A1"], "milk=goat": ["A1"], "from=6": ["B2"],
        "to=2": ["A1"], "from=2&to=3": [], f"style={blue}&milk=goat": [], "from=no number": ["A1", "B2"],
    }.items():  # fmt: skip
        assert codes(guest.get(f"/wheels?{query}").text) == found, query
