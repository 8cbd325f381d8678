"""Days away: the plan, the link, access that begins and ends by itself, the sheet."""

import io
import re
from datetime import timedelta

import pytest
from fastapi.testclient import TestClient
from PIL import Image
from sqlalchemy import Engine, select

from collector.clock import ManualClock
from collector.notify.away import load_away
from collector.notify.wishes import duty_order
from collector.records.columns import new_id
from collector.records.engine import reading
from collector.records.tables import person
from dashboard.wheels.bodies.doings import RindNote, ShelfPhoto
from tests.dashboard.book_kept import a_style, a_wheel, enter
from tests.dashboard.conftest import NOW_AT
from tests.dashboard.dairy import a_place

PASSWORD = {"password": "long enough now", "again": "long enough now"}
GOOD = {
    "from": "2026-03-14", "to": "2026-03-16", "who": "new", "name": "Neighbour", "evening": "19:30",
    "call": "The vet's old number", "words": "The key hangs behind the door.",
}  # fmt: skip


def plan(owner: TestClient, **others: str) -> None:
    assert owner.post("/away", data={**GOOD, **others}).status_code == 303


def link_of(owner: TestClient) -> str:
    found = re.search(r"<code>\S+?(/first/\S+)</code>", owner.post("/away/link").text)
    assert found is not None
    return found[1]


def test_a_helper_comes_in_by_a_link_on_the_days_and_no_longer(
    owner: TestClient, stranger: TestClient, engine: Engine, clock: ManualClock
) -> None:
    plan(owner)
    link = link_of(owner)
    early = stranger.post(link, data={"name": "Neighbour", **PASSWORD})
    assert early.status_code == 403
    assert "You may come in from 14 March 2026" in early.text
    clock.set(NOW_AT + timedelta(days=2))
    again = stranger.post("/sign-in", data={"name": "Neighbour", **PASSWORD})
    assert again.status_code == 303
    assert stranger.get("/round").status_code == 200
    assert stranger.get("/settings/warnings/duty").status_code == 403
    assert "Neighbour</" not in stranger.get("/away").text
    assert "is on duty for" in stranger.get("/away").text
    assert stranger.post("/away", data=GOOD).status_code == 403
    with reading(engine) as db:
        helper = db.execute(select(person.c.id).where(person.c.name == "Neighbour")).scalar_one()
        assert duty_order(db, clock.now())[0] == helper
    clock.set(NOW_AT + timedelta(days=5))
    assert stranger.get("/round").status_code == 303
    late = stranger.post("/sign-in", data={"name": "Neighbour", **PASSWORD})
    assert "Your access ended on" in late.text
    assert "Over: the usual order holds again" in owner.get("/away").text


def test_coming_back_early_ends_the_access_at_once(
    owner: TestClient, stranger: TestClient, engine: Engine, clock: ManualClock
) -> None:
    plan(owner, **{"from": "2026-03-12"})
    assert stranger.post(link_of(owner), data={"name": "Neighbour", **PASSWORD}).status_code == 303
    assert stranger.get("/round").status_code == 200
    clock.advance(timedelta(minutes=1))
    owner.post("/away/back")
    assert stranger.get("/round").status_code == 303
    with reading(engine) as db:
        assert load_away(db) is None
        assert duty_order(db, clock.now()) == ()


def test_somebody_known_stands_in_and_keeps_their_own_access(
    owner: TestClient, helper: TestClient, engine: Engine, clock: ManualClock
) -> None:
    with reading(engine) as db:
        known = db.execute(select(person.c.id).where(person.c.role == "helper")).scalar_one()
    plan(owner, who=known, **{"from": "2026-03-12", "to": "2026-03-13"})
    page = owner.get("/away").text
    assert "has no way to be told yet" in page
    assert "One-time" not in page
    clock.set(NOW_AT + timedelta(days=9))
    assert helper.get("/round").status_code == 200


def test_other_dates_move_the_access_and_another_person_ends_it(owner: TestClient, engine: Engine) -> None:
    plan(owner)
    with reading(engine) as db:
        first = db.execute(select(person).where(person.c.name == "Neighbour")).one()
    plan(owner, who=first.id, **{"to": "2026-03-20"})
    with reading(engine) as db:
        moved = db.execute(select(person).where(person.c.name == "Neighbour")).one()
    assert moved.to_at - first.to_at == timedelta(days=4)
    plan(owner, name="Cousin")
    with reading(engine) as db:
        ended = db.execute(select(person.c.to_at).where(person.c.name == "Neighbour")).scalar_one()
    assert ended == NOW_AT


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ({"to": "2026-03-13"}, "The last day must not lie before the first, got 2026-03-13 and 2026-03-14."),
        ({"from": "2026-03-01", "to": "2026-03-02"}, "The last day must still be to come, got 2026-03-02."),
        ({"to": "2026-12-24"}, "Take at most 120 days; these are 286."),
        ({"from": "soon"}, "soon"),
        ({"who": "a stranger"}, "Take one of the choices."),
        ({"name": " "}, "Take 1 to 80 characters for the name; this has 0."),
        ({"name": "Keeper"}, "Somebody here is called Keeper already"),
        ({"evening": "late"}, "It must be a time of the day like 20:00, got late."),
        ({"call": "x" * 1_001}, "Take at most 1000 characters; this has 1001."),
    ],
)
def test_a_plan_that_cannot_be_is_refused_with_what_was_typed(
    owner: TestClient, engine: Engine, wrong: dict[str, str], said: str
) -> None:
    with engine.begin() as db:
        db.execute(person.update().where(person.c.role == "owner").values(name="Keeper"))
    answer = owner.post("/away", data={**GOOD, **wrong})
    assert answer.status_code == 422
    assert said in answer.text
    assert "The key hangs behind the door." in answer.text
    with reading(engine) as db:
        assert load_away(db) is None


def test_the_sheet_says_whom_to_call_and_what_to_do_on_which_day(owner: TestClient, engine: Engine) -> None:
    assert owner.get("/away/sheet").status_code == 404
    with engine.begin() as db:
        a_wheel(db, "W1", 5, a_place(db, "Upper board"), style_id=a_style(db))
    plan(owner)
    sheet = owner.get("/away/sheet").text
    for words in ("The vet&#39;s old number", "The key hangs behind the door.", "Upper board", "W1", "turn"):
        assert words in sheet
    assert sheet.count("<section") == 4  # three days and the shelf's faces


def test_the_sheet_shows_the_newest_photo_of_each_shelf(owner: TestClient, engine: Engine) -> None:
    with engine.begin() as db:
        shelf = a_place(db, "Upper board")
        a_wheel(db, "W1", 20, shelf, style_id=a_style(db))
    for days_ago, shade in ((9, 40), (2, 200)):
        photo_id = new_id()
        assert owner.put(f"/api/photos/{photo_id}", content=a_photo(shade)).status_code == 201
        with engine.begin() as db:
            enter(db, ShelfPhoto(photos=(photo_id,)), days_ago, place_id=shelf)
    plan(owner)
    sheet = owner.get("/away/sheet").text
    shown = re.findall(r'src="(/photos/[0-9a-f]{64}\.jpg)" alt="All of Upper board"', sheet)
    assert len(shown) == sheet.count("<img") == 1  # a photo of the shelf is none of the wheel
    assert brightness(owner, shown[0]) > 150  # the newer, brighter one


def test_the_sheet_shows_the_newest_photo_of_each_wheel(owner: TestClient, engine: Engine) -> None:
    with engine.begin() as db:
        wheel_id = a_wheel(db, "W1", 20, a_place(db, "Upper board"), style_id=a_style(db))
    for shade, days_ago in ((40, 9), (200, 2)):
        photo_id = new_id()
        assert owner.put(f"/api/photos/{photo_id}", content=a_photo(shade)).status_code == 201
        with engine.begin() as db:
            enter(db, RindNote(note="blue_spots", photos=(photo_id,)), days_ago, wheel_id=wheel_id)
    plan(owner)
    shown = re.findall(r'<img src="(/photos/[0-9a-f]{64}\.jpg)" alt="W1"', owner.get("/away/sheet").text)
    assert len(shown) == 1
    assert brightness(owner, shown[0]) > 150  # the newer, brighter one


def brightness(owner: TestClient, path: str) -> int:
    with Image.open(io.BytesIO(owner.get(path).content)) as picture:
        grey = picture.convert("L").getpixel((5, 5))
    assert isinstance(grey, int)
    return grey


def a_photo(grey: int) -> bytes:
    out = io.BytesIO()
    Image.new("RGB", (64, 48), (grey, grey, grey)).save(out, "JPEG")
    return out.getvalue()


def test_a_guest_is_not_shown_the_plan(guest: TestClient) -> None:
    assert guest.get("/away").status_code == 403
