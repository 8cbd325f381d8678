"""One wheel's page, by id, by code and by label."""

import io
import re

import pytest
from fastapi.testclient import TestClient
from PIL import Image
from sqlalchemy import Engine

from collector.records.columns import new_id
from dashboard.wheels.bodies.doings import Care, Covered, Moved, RindNote, Tasting
from dashboard.wheels.labels_given import give_label
from tests.dashboard.book_kept import a_make, a_style, a_wheel, enter
from tests.dashboard.conftest import NOW_AT
from tests.dashboard.dairy import a_place


def test_the_page_says_what_the_wheel_is_and_from_where_loss_counts(
    guest: TestClient, helper: TestClient, engine: Engine
) -> None:
    with engine.begin() as db:
        cave, box = a_place(db), a_place(db, "Warm box", "box")
        wheel = a_wheel(db, "A1", 60, cave, (2_000.0, 1_900.0), style_id=a_style(db), species="goat")
        enter(db, Moved(), 10, wheel_id=wheel, place_id=box)
        enter(db, Covered(covering="wax"), 9, wheel_id=wheel)
        enter(db, Care(care="washed", with_what="brine of 3 %"), 20, wheel_id=wheel)
        enter(db, Tasting(verdict=4, flavour="Nutty", next_time="salt it longer"), 2, wheel_id=wheel)
    page = guest.get(f"/wheels/{wheel}").text
    for said in (
        "Loss counts from: into the cave, 11 January 2026, 2.00 kg.", "5.0 %", "Warm box", "Lower fridge", "wax",
        "goat", "With brine of 3 %.", "moved to Warm box", "Nutty", "salt it longer", "4 of 5",
    ):  # fmt: skip
        assert said in page, said
    assert "ake back" not in page  # a guest only looks
    assert 'aria-label="Correct or take back: washed' in helper.get(f"/wheels/{wheel}").text


def test_a_raw_milk_wheel_carries_the_legal_age_from_its_makes_own_field(guest: TestClient, engine: Engine) -> None:
    # 60 days at not less than 35 F: 21 CFR 133.182 and its neighbours, as minimum_ages.py cites them.
    with engine.begin() as db:
        raw, warmed = a_make(db, 30, heat="raw"), a_make(db, 30, heat="pasteurised")
        style = a_style(db)
        wheel = a_wheel(db, "A1", 30, make_id=raw, style_id=style)
        other = a_wheel(db, "B2", 30, make_id=warmed, style_id=style)
    page = guest.get(f"/wheels/{wheel}").text
    assert "Raw milk. In the United States" in page
    assert "60 days" in page
    assert "Your local rules come first." in page
    assert "In the United States" not in guest.get(f"/wheels/{other}").text


def test_a_wheel_is_reached_by_its_own_code_with_a_slash_in_it(guest: TestClient, engine: Engine) -> None:
    with engine.begin() as db:
        wheel = a_wheel(db, "24-07B/1")
        a_wheel(db, "twin")
        a_wheel(db, "twin", 10)
    assert guest.get("/wheels/24-07b/1").headers["location"] == f"/wheels/{wheel}"
    assert guest.get("/wheels/twin").headers["location"] == "/wheels?code=twin"
    assert guest.get("/wheels/nowhere").status_code == 404


def test_a_label_leads_to_its_wheel_after_the_sign_in(guest: TestClient, stranger: TestClient, engine: Engine) -> None:
    with engine.begin() as db:
        wheel, place = a_wheel(db, "A1"), a_place(db)
        code, shelf = give_label(db, "wheel", wheel, NOW_AT), give_label(db, "place", place, NOW_AT)
    assert guest.get(f"/w/{code.lower()}").headers["location"] == f"/wheels/{wheel}"
    assert guest.get(f"/w/{shelf}").headers["location"] == f"/wheels#s-{place}"
    assert guest.get("/w/ZZZZZZ").status_code == 404
    assert stranger.get(f"/w/{code}").headers["location"].startswith("/sign-in?next=")


def ask(client: TestClient, wheel: str, doing: str, **texts: str) -> tuple[int, str]:
    answer = client.post(f"/wheels/{wheel}/do/{doing}", data={"seed": new_id(), **texts})
    return answer.status_code, answer.text


def test_a_form_sent_twice_is_kept_once(helper: TestClient, engine: Engine) -> None:
    with engine.begin() as db:
        wheel = a_wheel(db, "A1")
    seed = {"seed": new_id(), "covering": "wax", "before": "2 kg", "after": "2050 g"}
    for _ in range(2):
        assert helper.post(f"/wheels/{wheel}/do/covered", data=seed).status_code == 303
    page = helper.get(f"/wheels/{wheel}").text
    assert page.count("<strong>wax</strong>") == 1


def test_cut_parts_go_on_with_their_own_hundred_percent(helper: TestClient, engine: Engine) -> None:
    with engine.begin() as db:
        wheel = a_wheel(db, "A1", 60, a_place(db), (2_000.0,))
    texts = {"parts": "2", "part1_weight": "1 kg", "part1_face": "wax", "part2_code": "Half", "rest": "eaten"}
    assert ask(helper, wheel, "cut", **texts)[0] == 303
    page = helper.get(f"/wheels/{wheel}").text
    assert "No longer here: cut" in page
    assert "A1/1" in page
    assert "Half" in page
    assert helper.get("/wheels/A1/1").status_code == 303


@pytest.mark.parametrize(
    ("doing", "texts", "said"),
    [
        ("ended", {"how": "thrown"}, "Say why it was thrown away"),
        ("ended", {}, "Say what became of it"),
        ("cut", {"parts": "99"}, "At most 8 parts"),
        ("cut", {"parts": "0"}, "Say how many parts go on"),
        ("covered", {"covering": "wax", "after": "a lot"}, "not a number with a unit"),
        ("wheel", {}, "Nothing was changed"),
        ("wheel", {"made_on": "31 Feb"}, "there is no such day"),
        ("lifted", {"pieces": "x"}, "Give a whole number from 1, got x"),
    ],
)
def test_what_cannot_be_taken_is_said_and_kept(
    helper: TestClient, engine: Engine, doing: str, texts: dict[str, str], said: str
) -> None:
    with engine.begin() as db:
        wheel = a_wheel(db, "A1")
    status, page = ask(helper, wheel, doing, **texts)
    assert status == 422
    assert said in page


def test_a_changed_sheet_says_only_what_was_changed(helper: TestClient, engine: Engine) -> None:
    with engine.begin() as db:
        wheel = a_wheel(db, "A1", species="goat")
    assert ask(helper, wheel, "wheel", code="A9", style_id="new:tomme", diameter="18 cm", species="goat")[0] == 303
    page = helper.get(f"/wheels/{wheel}").text
    assert "A9" in page
    assert "tomme, natural rind" in page
    assert "180 mm" in page
    assert "goat" in page


def test_pieces_of_a_batch_are_given_away_one_by_one(helper: TestClient, engine: Engine) -> None:
    with engine.begin() as db:
        wheel = a_wheel(db, "Pile", pieces=14)
    assert ask(helper, wheel, "ended", how="given", pieces="3", to_whom="a friend")[0] == 303
    assert ask(helper, wheel, "lifted", pieces="2", code="Odd ones")[0] == 303
    assert "9 of 14 left" in helper.get(f"/wheels/{wheel}").text


def test_a_guest_changes_nothing(guest: TestClient, engine: Engine) -> None:
    with engine.begin() as db:
        wheel = a_wheel(db, "A1")
    assert guest.get(f"/wheels/{wheel}/do/cut").status_code == 403
    assert ask(guest, wheel, "ended", how="eaten")[0] == 403


def a_photo(grey: int) -> bytes:
    out = io.BytesIO()
    Image.new("L", (64, 48), grey).save(out, "JPEG")
    return out.getvalue()


def test_photos_stand_in_a_row_and_two_side_by_side(helper: TestClient, guest: TestClient, engine: Engine) -> None:
    with engine.begin() as db:
        wheel = a_wheel(db, "A1")
    for days_ago, shade in ((20, 90), (10, 150), (1, 210)):
        photo_id = new_id()
        assert helper.put(f"/api/photos/{photo_id}", content=a_photo(shade)).status_code == 201
        with engine.begin() as db:
            enter(db, RindNote(note="blue_spots", photos=(photo_id,)), days_ago, wheel_id=wheel)
    page = guest.get(f"/wheels/{wheel}").text
    shown = re.findall(r'<img src="(/photos/[0-9a-f]{64}\.jpg)"', page)
    assert len(shown) == 3
    answer = guest.get(shown[0])
    assert (answer.status_code, answer.headers["content-type"]) == (200, "image/jpeg")
    grey = Image.open(io.BytesIO(answer.content)).convert("L").tobytes()[0]
    assert abs(grey - 90) < 5  # the oldest first
    pair = guest.get(f"/wheels/{wheel}/photos").text
    assert pair.index("<figcaption>20 February") < pair.index("<figcaption>yesterday")
    assert pair.count("<figure>") == 2


def test_no_photo_is_served_by_a_path(guest: TestClient) -> None:
    assert guest.get("/photos/..%2Frecords.sqlite3").status_code == 404
    assert guest.get(f"/photos/{'0' * 64}.jpg").status_code == 404


def test_one_photo_is_not_set_beside_itself(helper: TestClient, guest: TestClient, engine: Engine) -> None:
    photo_id = new_id()
    assert helper.put(f"/api/photos/{photo_id}", content=a_photo(90)).status_code == 201
    with engine.begin() as db:
        wheel = a_wheel(db, "A1")
        enter(db, RindNote(note="blue_spots", photos=(photo_id,)), 1, wheel_id=wheel)
    page = guest.get(f"/wheels/{wheel}/photos").text
    assert page.count("<figure>") == 1
    assert "Show these two" not in page
