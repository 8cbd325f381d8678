"""The round by plain forms: each button's entries, undo, roles; what a phone keeps of it."""

import json
import re
from collections.abc import Callable
from typing import Any

import pytest
from fastapi.testclient import TestClient
from sqlalchemy import Engine, select

from collector.records.columns import new_id
from collector.records.engine import open_records, reading
from collector.records.places import places
from dashboard.household import Household
from dashboard.pages import round as round_page
from dashboard.people.person import Role
from dashboard.wheels import tables
from dashboard.wheels.entries import put_all
from dashboard.wheels.kept_by_facts import KeptByFacts
from dashboard.wheels_shown.of_place import place_photos
from tests.browser.rounds.cellar import Cellar, a_cellar, entry
from tests.dashboard.api.test_photos import a_photo
from tests.dashboard.conftest import NOW_AT


@pytest.fixture
def cellar(engine: Engine) -> Cellar:
    return a_cellar(engine, (3, 2), NOW_AT)


def rows(engine: Engine, kind: str) -> list[dict[str, Any]]:
    """Entries of a kind that came in with this test's forms."""
    e = tables.entry.c
    query = select(tables.entry).where(e.kind == kind, e.who != "Keeper").order_by(e.id)
    with reading(engine) as db:
        return [dict(row) for row in db.execute(query).mappings()]


def seed_of(page: str) -> str:
    found = re.search(r'name="seed" value="([^"]+)"', page)
    assert found
    return found[1]


def test_a_shelf_is_turned_and_taken_back(helper: TestClient, engine: Engine, cellar: Cellar) -> None:
    page = helper.get("/round")
    assert "5</strong> of 5 wheels late" in page.text
    wheels = [cellar.wheels["24-01"], cellar.wheels["24-03"]]
    form = {"seed": seed_of(page.text), "do": "turned+clean", "wheel": wheels}
    answers = [helper.post(f"/round/shelf/{cellar.shelves[0]}", data=form) for _ in range(2)]
    assert [answer.status_code for answer in answers] == [303, 303]
    assert answers[0].headers["location"] == f"/round#s-{cellar.shelves[0]}"
    made = rows(engine, "care")
    assert sorted(row["wheel_id"] for row in made) == sorted(wheels)
    page = helper.get("/round")
    assert "Turned, nothing new: 2 wheels." in page.text
    undo = re.search(r'action="(/round/undo/[^"]+)"', page.text)
    assert undo
    for _ in range(2):
        assert helper.post(undo[1]).status_code == 303
    assert sorted(row["replaces"] for row in rows(engine, "withdrawn")) == sorted(row["id"] for row in made)
    assert "5</strong> of 5 wheels late" in helper.get("/round").text


def test_one_wheel_has_buttons_of_its_own(helper: TestClient, engine: Engine, cellar: Cellar) -> None:
    one = cellar.wheels["24-02"]
    form = {"seed": new_id(), "one": f"turned:{one}", "wheel": list(cellar.wheels.values())}
    helper.post(f"/round/shelf/{cellar.shelves[0]}", data=form)
    assert [(row["wheel_id"], row["body"]) for row in rows(engine, "care")] == [
        (one, {"kind": "care", "care": "turned"})
    ]


def test_a_photo_of_the_shelf_counts_as_looked_at(helper: TestClient, engine: Engine, cellar: Cellar) -> None:
    def looked_at() -> set[str]:
        with reading(engine) as db:
            rows = db.execute(select(tables.wheel.c.code, tables.wheel.c.last))
            return {row.code for row in rows if row.last["looked"] > row.last["clean"]}

    path, form = f"/round/shelf/{cellar.shelves[0]}", {"seed": new_id(), "do": "shelf_photo"}
    for _ in range(2):
        helper.post(path, data=form, files={"photo": ("shelf.jpg", a_photo(), "image/jpeg")})
    (made,) = rows(engine, "shelf_photo")
    assert (made["wheel_id"], made["place_id"]) == (None, cellar.shelves[0])
    assert looked_at() == {"24-01", "24-02", "24-03"}
    shown = re.compile(r'<img src="/photos/[0-9a-f]{64}\.jpg" alt="([^"]*)"')
    assert shown.findall(helper.get(f"/wheels/{cellar.wheels['24-01']}").text)[0].startswith("The wheel, the shelf, ")
    assert shown.findall(helper.get(f"/wheels/{cellar.wheels['24-05']}").text) == []
    with reading(engine) as db:
        by_id = {place.id: place for place in places(db)}
        both = [by_id[cellar.cave], by_id[made["place_id"]]]
        said = [[photo.said for photo in place_photos(db, place, NOW_AT, Household())] for place in both]
    assert said[0] == [f"Left shelf, {said[1][0]}"]
    assert "photo of the shelf" in helper.get("/round/entered").text
    helper.post(f"/at/{cellar.wheels['24-01']}/undo/{made['id']}")
    assert looked_at() == set()


def test_a_photo_of_the_shelf_needs_a_photo_and_a_shelf(helper: TestClient, engine: Engine, cellar: Cellar) -> None:
    helper.post(f"/round/shelf/{cellar.shelves[0]}", data={"seed": new_id(), "do": "shelf_photo"})
    assert "Not kept: Take a photo of the shelf first." in helper.get("/round").text
    photo = {"photo": ("shelf.jpg", a_photo(), "image/jpeg")}
    helper.post("/round/shelf/nowhere", data={"seed": new_id(), "do": "shelf_photo"}, files=photo)
    assert "Not kept: " in helper.get("/round").text
    assert rows(engine, "shelf_photo") == []


@pytest.mark.parametrize(
    ("form", "said"),
    [({"do": "turned"}, "Mark at least one wheel."), ({"do": "", "wheel": "x"}, "Use the page&#39;s own buttons.")],
)
def test_what_cannot_be_kept_is_said(
    helper: TestClient, engine: Engine, cellar: Cellar, form: dict[str, str], said: str
) -> None:
    helper.post(f"/round/shelf/{cellar.shelves[0]}", data={"seed": new_id(), **form})
    assert f"Not kept: {said}" in helper.get("/round").text


def test_a_chore_takes_one_touch_and_a_word_of_ones_own(helper: TestClient, engine: Engine, cellar: Cellar) -> None:
    path = f"/round/chores/{cellar.cave}"
    helper.post(path, data={"seed": new_id(), "chore": "humidifier_filled", "amount": "2 l"})
    helper.post(path, data={"seed": new_id(), "chore": "own", "own_word": "lamp changed"})
    chores = rows(engine, "chore")
    assert chores[0]["body"] == {"kind": "chore", "chore": "humidifier_filled", "amount_l": 2}
    assert "lamp changed" in helper.get("/round").text


def test_a_guest_looks_and_touches_nothing(guest: TestClient, engine: Engine, cellar: Cellar) -> None:
    page = guest.get("/round").text
    assert "24-01" in page
    assert "<form" not in page.replace('<form method="post" action="/sign-out">', "")
    assert guest.post(f"/round/shelf/{cellar.shelves[0]}", data={"do": "turned"}).status_code == 403


def test_the_page_is_packed_for_a_phone_that_takes_that(helper: TestClient, engine: Engine, cellar: Cellar) -> None:
    packed = helper.get("/round", headers={"Accept-Encoding": "gzip"})
    assert packed.headers["content-encoding"] == "gzip"
    assert packed.headers["cache-control"] == "no-store"
    assert "content-encoding" not in helper.get("/round", headers={"Accept-Encoding": "identity"}).headers


def test_what_a_phone_keeps_has_its_time_last_weights_boards_and_ranges(
    guest: TestClient, engine: Engine, cellar: Cellar
) -> None:
    kept = guest.get("/round/kept.json").json()
    assert (kept["at"], kept["as_of"]) == (NOW_AT.isoformat(), "14:10")
    own = kept["wheels"][cellar.wheels["24-01"]]
    assert (own["code"], own["last"], own["board"]) == ("24-01", "2.10 kg on 28 February", cellar.board)
    # 12 days after 2100 g: at most 30 % lighter, 1 % heavier dry and 3 % wet, and twice no step of a scale.
    assert (own["low_g"], own["high_g"], own["wet_high_g"]) == (1470.0, 2121.0, 2163.0)


def test_a_wheels_last_photo_of_its_own_is_kept(helper: TestClient, engine: Engine, cellar: Cellar) -> None:
    one, other = cellar.wheels["24-01"], cellar.wheels["24-02"]
    photo = {"photo": ("a.jpg", a_photo(), "image/jpeg")}
    helper.post(f"/at/{one}/rind_note", data={"seed": new_id(), "note": "crack"}, files=photo)
    shelf = {"seed": new_id(), "do": "looked", "wheel": [one, other]}
    helper.post(f"/round/shelf/{cellar.shelves[0]}", data=shelf, files=photo)
    kept = helper.get("/round/kept.json").json()["wheels"]
    with reading(engine) as db:
        small = db.execute(select(tables.photo.c.small_hash)).scalars().first()
    assert kept[one]["photo"] == f"/photos/{small}.jpg"
    assert helper.get(kept[one]["photo"]).status_code == 200
    assert "photo" not in kept[other]


def test_after_something_was_taken_out_no_range_is_kept(helper: TestClient, engine: Engine, cellar: Cellar) -> None:
    one = cellar.wheels["24-01"]
    helper.post(f"/at/{one}/took_out", data={"seed": new_id(), "what": "plug", "taken": "20"})
    assert "low_g" not in helper.get("/round/kept.json").json()["wheels"][one]


def test_what_the_page_carries_for_its_script_cannot_end_its_tag(
    helper: TestClient, engine: Engine, cellar: Cellar
) -> None:
    helper.put(
        f"/api/entries/{(entry_id := new_id())}",
        json={"id": entry_id, "wheel_id": cellar.wheels["24-01"], "done_at": NOW_AT.isoformat(),
              "body": {"kind": "wheel", "code": "</script><b>24"}},
    )  # fmt: skip
    page = helper.get("/round").text
    assert "</script><b>24" not in page
    kept = re.search(r'id="kept">(.*?)</script>', page, re.DOTALL)
    assert kept
    assert json.loads(kept[1])["wheels"][cellar.wheels["24-01"]]["code"] == "</script><b>24"


def test_a_round_without_wheels_leads_to_adding_some(helper: TestClient, guest: TestClient, engine: Engine) -> None:
    assert "/wheels/add" in helper.get("/round").text
    assert "No wheels stand anywhere yet." in guest.get("/round").text


def test_an_undo_of_nothing_is_a_page_that_is_not_there(visitor: Callable[[Role], TestClient], engine: Engine) -> None:
    assert visitor("helper").post(f"/round/undo/{new_id()}").status_code == 404
    assert visitor("guest").post(f"/round/undo/{new_id()}").status_code == 403


def test_what_another_process_wrote_stands_on_the_next_round(
    helper: TestClient, engine: Engine, cellar: Cellar
) -> None:
    before = lines_of(helper)
    wheel = cellar.wheels["24-02"]
    other = open_records(engine.url.render_as_string(hide_password=False))
    with other.begin() as db:
        put_all(
            db, [entry({"kind": "rind_note", "note": "black_spots"}, 0, NOW_AT, wheel_id=wheel)], received_at=NOW_AT
        )
    other.dispose()
    after = lines_of(helper)
    assert "black spots" in after[wheel]
    assert {own for own, line in after.items() if line != before[own]} == {wheel}


def lines_of(client: TestClient) -> dict[str, str]:
    """Each wheel's line as it is written."""
    texts = re.findall(r'<li class="wheel.*?</li>', client.get("/round").text, re.DOTALL)
    return {text.partition(' id="w-')[2].partition('"')[0]: text for text in texts}


def test_a_line_is_written_once_and_for_helpers_and_guests_apart(
    helper: TestClient, guest: TestClient, cellar: Cellar, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(round_page, "_LINES", KeptByFacts())
    assert "<button" in lines_of(helper)[cellar.wheels["24-01"]]
    assert "<button" not in lines_of(guest)[cellar.wheels["24-01"]]
    assert "<button" in lines_of(helper)[cellar.wheels["24-01"]]


def test_every_drawing_that_a_line_repeats_is_defined_on_the_page(helper: TestClient, cellar: Cellar) -> None:
    page = helper.get("/round").text
    drawn = set(re.findall(r'<use href="#([^"]+)"', page))
    assert drawn
    assert drawn <= set(re.findall(r'<symbol id="([^"]+)"', page))
