"""Wheels that somebody already has: read, confirmed, kept once."""

import html
import re

import pytest
from fastapi.testclient import TestClient
from sqlalchemy import Engine

from dashboard.wheels.book import styles, wheels
from tests.dashboard.book_kept import a_wheel
from tests.dashboard.dairy import a_place


def fields(page: str) -> dict[str, str]:
    """What the confirming form would send if nothing were touched."""
    form = page.split('action="/wheels/add/keep"')[1]
    found = dict(
        re.findall(r'<input(?: type="hidden")? name="([^"]+)"(?: type="(?:text|date)")?[^>]*? value="([^"]*)"', form)
    )
    for name, options in re.findall(r'<select name="([^"]+)">(.*?)</select>', form, re.DOTALL):
        chosen = re.search(r'value="([^"]*)" selected', options)
        found[name] = chosen[1] if chosen else ""
    return {
        name: html.unescape(value) for name, value in found.items() if not name.startswith(("each-", "out-"))
    }  # fmt: skip


def test_a_free_line_becomes_a_wheel_with_place_style_and_weight(helper: TestClient, engine: Engine) -> None:
    with engine.begin() as db:
        place = a_place(db)
    page = helper.post("/wheels/add", data={"lines": "24-07B tomme 3 Feb 2.1 kg lower fridge"}).text
    posted = fields(page)
    for _ in range(2):
        assert helper.post("/wheels/add/keep", data=posted).status_code == 303
    with engine.begin() as db:
        (wheel,) = wheels(db)
        (style,) = styles(db)
    assert (wheel.code, str(wheel.made_on), wheel.net_g, wheel.place_id) == ("24-07B", "2026-02-03", 2_100, place)
    assert (wheel.style_id, style.sheet.rind) == (style.id, "natural")


def test_the_unit_of_a_columns_heading_holds_until_the_wheel_is_kept(helper: TestClient, engine: Engine) -> None:
    page = helper.post("/wheels/add", data={"lines": "code,weight (g)\nA1,150\nB2,2100"}).text
    assert helper.post("/wheels/add/keep", data=fields(page)).status_code == 303
    with engine.begin() as db:
        assert {wheel.code: wheel.net_g for wheel in wheels(db)} == {"A1": 150, "B2": 2_100}


def test_the_columns_of_a_table_are_guessed_shown_and_changed(helper: TestClient, engine: Engine) -> None:
    lines = "A1\t2.1 kg\tby the door\nB2\t1.9 kg\tat the back"
    page = helper.post("/wheels/add", data={"lines": lines}).text
    assert "Columns: code, weight, words" in page
    assert "like by the door" in page
    again = {"lines": lines, "column-0": "notes", "column-1": "weight_g", "column-2": "code"}
    page = helper.post("/wheels/add", data=again).text
    assert helper.post("/wheels/add/keep", data=fields(page)).status_code == 303
    with engine.begin() as db:
        assert {wheel.code for wheel in wheels(db)} == {"by the door", "at the back"}


@pytest.mark.parametrize(
    ("texts", "said"),
    [
        ({"lines": " "}, "Write a line for each wheel"),
        ({"lines": "A1\tx\nB2\ty", "column-0": "code", "column-1": "code"}, "Only one column can be the code"),
        ({"lines": "A1\tx\nB2\ty", "column-0": "engine"}, "Only one column"),
        ({"lines": "\n".join(f"W{n} tomme" for n in range(501))}, "at most 500 at a time, got 501"),
    ],
)
def test_what_cannot_be_brought_in_is_said(helper: TestClient, texts: dict[str, str], said: str) -> None:
    answer = helper.post("/wheels/add", data=texts)
    assert answer.status_code == 422
    assert said in answer.text


def test_a_code_that_is_taken_and_a_guess_on_little_ground_are_marked(helper: TestClient, engine: Engine) -> None:
    with engine.begin() as db:
        a_wheel(db, "A1")
        a_place(db, "Lower fridge")
    page = helper.post("/wheels/add", data={"lines": "A1 tomme\nB2 tomme lower frigde"}).text
    assert "code A1 is used by another wheel" in page
    assert "Not sure: place from lower frigde" in page


def test_long_words_are_kept_whole(helper: TestClient, engine: Engine) -> None:
    words = (
        "Seen at the market of the lower village, a gift that stood behind the jam for a whole winter before anybody "
        * 2
    )
    page = helper.post("/wheels/add", data={"lines": f"A1 {words}"}).text
    helper.post("/wheels/add/keep", data=fields(page))
    with engine.begin() as db:
        (wheel,) = wheels(db)
    assert len(wheel.sheet.notes) > 150


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"diameter_mm-0": "5000"}, "got 5000"),
        ({"weight_g-0": "heavy"}, "not a number with a unit"),
        ({"style_id-0": "preset:none"}, "Take one of the styles"),
        ({"made_on-0": "soon"}, "This cannot be read: soon"),
    ],
)
def test_a_confirmed_line_that_cannot_be_kept_is_said_and_nothing_is_kept(
    helper: TestClient, engine: Engine, changed: dict[str, str], said: str
) -> None:
    page = helper.post("/wheels/add", data={"lines": "A1 tomme 2 kg"}).text
    answer = helper.post("/wheels/add/keep", data={**fields(page), **changed})
    assert answer.status_code == 422
    assert said in answer.text
    with engine.begin() as db:
        assert wheels(db) == []


def test_a_guest_brings_in_nothing(guest: TestClient) -> None:
    assert guest.get("/wheels/add").status_code == 403
    assert guest.post("/wheels/add/keep", data={}).status_code == 403
