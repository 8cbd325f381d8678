"""Wheels that somebody already has: read from lines, confirmed, in the book once."""

import re

import pytest
from fastapi.testclient import TestClient
from sqlalchemy import Engine

from collector.records.columns import new_id
from collector.records.engine import reading
from collector.records.places import places
from dashboard.wheels.book import styles, wheels
from tests.dashboard.book_kept import a_wheel
from tests.dashboard.dairy import a_place

LINES = "24-07B tomme 3 Feb 2.1 kg lower fridge\n24-08 blue 1 March 1.4 kg lower fridge\n14 pieces 240 g each waxed"


def confirmed(page: str) -> dict[str, str]:
    """The fields of the page as a browser would send them back."""
    texts = dict(re.findall(r'<input[^>]*name="([^"]+)"[^>]*value="([^"]*)"', page))
    for name, inner in re.findall(r'<select name="([^"]+)">(.*?)</select>', page, re.DOTALL):
        chosen = re.search(r'value="([^"]*)" selected', inner)
        texts[name] = chosen[1] if chosen else ""
    ticked = re.findall(r'<input type="checkbox" name="([^"]+)" value="yes" checked', page)
    return {name: text for name, text in texts.items() if not name.startswith(("out-", "each-")) or name in ticked}


def test_lines_become_wheels_on_their_shelf_with_a_care_plan(helper: TestClient, engine: Engine) -> None:
    with engine.begin() as db:
        place_id = a_place(db)
    page = helper.post("/wheels/add", data={"lines": LINES})
    assert page.status_code == 200
    assert "Is that right? 3 wheels" in page.text
    form = confirmed(page.text)
    assert [helper.post("/wheels/add/keep", data=form).status_code for _ in range(2)] == [303, 303]
    with reading(engine) as db:
        found = {wheel.code: wheel for wheel in wheels(db)}
        own = {style.id: style.sheet for style in styles(db)}
    assert len(found) == 3
    tomme = found["24-07B"]
    assert (tomme.place_id, tomme.net_g, str(tomme.made_on)) == (place_id, 2_100, "2026-02-03")
    assert own[str(tomme.style_id)].plan
    assert len(own) == 2
    batch = found[""]
    assert (batch.pieces_left, batch.net_g, batch.covering) == (14, 240, "wax")
    assert "24-07B" in helper.get("/round").text


def test_one_touch_takes_back_what_was_just_brought_in(helper: TestClient, engine: Engine) -> None:
    with engine.begin() as db:
        a_place(db)
        kept = a_wheel(db, "23-99")
    helper.post("/wheels/add/keep", data=confirmed(helper.post("/wheels/add", data={"lines": LINES}).text))
    undo = re.search(r'action="(/round/undo/[^"]+)"', helper.get("/round").text)
    assert undo is not None
    for _ in range(2):
        assert helper.post(undo[1]).headers["location"] == "/wheels/add"
    assert "Taken back" in helper.get("/wheels/add").text
    with reading(engine) as db:
        assert [wheel.id for wheel in wheels(db)] == [kept]
        assert len(styles(db)) == 2
    # The same lines can be brought in again.
    helper.post("/wheels/add/keep", data=confirmed(helper.post("/wheels/add", data={"lines": LINES}).text))
    with reading(engine) as db:
        assert len(wheels(db)) == 4


def test_a_place_is_made_for_those_that_name_none(helper: TestClient, engine: Engine) -> None:
    page = helper.post("/wheels/add", data={"lines": "24-01 tomme 2 kg", "new_place": "Box under the stairs"})
    helper.post("/wheels/add/keep", data=confirmed(page.text))
    assert "Box under the stairs" in helper.get("/round").text


def test_a_pasted_table_is_read_too(helper: TestClient, engine: Engine) -> None:
    table = (
        "code\tstyle\tmade\tweight kg\n24-01\ttomme, natural rind\t3 Feb 2026\t2.1\n24-02\ttomme, natural rind\t\t1.9"
    )
    page = helper.post("/wheels/add", data={"lines": table})
    helper.post("/wheels/add/keep", data=confirmed(page.text))
    with reading(engine) as db:
        assert {(wheel.code, wheel.net_g) for wheel in wheels(db)} == {("24-01", 2_100), ("24-02", 1_900)}


def test_what_is_odd_in_a_line_is_said_before_it_is_kept(helper: TestClient, engine: Engine) -> None:
    page = helper.post("/wheels/add", data={"lines": "24-01 tomme\n24-01 blue"})
    assert "code 24-01 is used by another wheel" in page.text


def test_a_field_that_cannot_be_read_keeps_nothing_and_loses_nothing(helper: TestClient, engine: Engine) -> None:
    form = confirmed(helper.post("/wheels/add", data={"lines": LINES}).text)
    answer = helper.post("/wheels/add/keep", data={**form, "weight_g-1": "heavy", "code-0": "changed"})
    assert answer.status_code == 422
    assert 'value="heavy"' in answer.text
    assert 'value="changed"' in answer.text
    with reading(engine) as db:
        assert wheels(db) == []


@pytest.mark.parametrize(
    ("form", "said"),
    [({"lines": " "}, "Write a line for each wheel"), ({"lines": "24-01", "new_place": "x" * 90}, "at most 80")],
)
def test_what_cannot_be_read_is_said(helper: TestClient, engine: Engine, form: dict[str, str], said: str) -> None:
    answer = helper.post("/wheels/add", data=form)
    assert answer.status_code == 422
    assert said in answer.text


def test_a_guest_adds_nothing(guest: TestClient, engine: Engine) -> None:
    assert guest.get("/wheels/add").status_code == 403
    assert guest.post("/wheels/add/keep", data={"seed": new_id()}).status_code == 403


@pytest.mark.parametrize(
    "lines",
    [
        "A1 tomme 2 kg rear cellar\nA2 blue 1 kg top shelf\nA3 tomme 2 kg Rear cellar",
        "code\tstyle\tplace\nA1\ttomme\trear cellar\nA2\tblue\ttop shelf\nA3\ttomme\tRear cellar\n",
    ],
)
def test_places_that_the_lines_name_are_made_in_one_touch(helper: TestClient, engine: Engine, lines: str) -> None:
    page = helper.post("/wheels/add", data={"lines": lines}).text
    wanted = dict(re.findall(r'name="(make_place-\d+)" value="([^"]*)" checked', page))
    assert list(wanted.values()) == ["rear cellar", "top shelf"]
    for _ in range(2):  # sent twice makes them once
        again = helper.post("/wheels/add", data={"lines": lines, **wanted}).text
    assert "not in the book yet" not in again
    assert helper.post("/wheels/add/keep", data=confirmed(again)).status_code == 303
    with reading(engine) as db:
        stand = {wheel.code: wheel.place_id for wheel in wheels(db)}
        named = {place.id: (place.name, place.kind) for place in places(db)}
    assert [named[str(stand[code])] for code in ("A1", "A2", "A3")] == [
        ("rear cellar", "cave"),
        ("top shelf", "shelf"),
        ("rear cellar", "cave"),
    ]


def test_words_that_nobody_understood_are_seen(helper: TestClient) -> None:
    page = helper.post("/wheels/add", data={"lines": "A1 tomme 2 kg for the <b>miller</b>"}).text
    assert "words: “for &lt;b&gt;miller&lt;/b&gt;”" in page
