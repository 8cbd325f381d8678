"""People: added, invited, changed, ended; the last owner cannot lock the house."""

import re
from collections.abc import Callable
from datetime import timedelta

import pytest
from fastapi.testclient import TestClient
from sqlalchemy import Engine, select, update

from collector.clock import ManualClock
from collector.records.engine import reading
from collector.records.tables import person, person_change, session
from dashboard.people.person import Role
from dashboard.wheels.calendar_feed import new_feed, who_of
from tests.dashboard.conftest import NOW_AT

NEW = {"name": "Neighbour", "role": "guest", "from": "", "to": ""}
PASSWORD = {"password": "long enough now", "again": "long enough now"}


def add(owner: TestClient, **others: str) -> str:
    answer = owner.post("/settings/people", data={**NEW, **others})
    assert answer.status_code == 303, answer.text
    return answer.headers["location"]


def invitation(owner: TestClient, page: str) -> str:
    found = re.search(r"<code>\S+?(/first/\S+)</code>", owner.post(f"{page}/invitation").text)
    assert found is not None
    return found[1]


def with_password(engine: Engine) -> None:
    """The owner of these tests came in without one; a real one has it."""
    with engine.begin() as db:
        db.execute(update(person).where(person.c.role == "owner").values(password_hash="a hash"))


def test_a_guest_comes_in_by_the_invitation_and_only_looks(owner: TestClient, stranger: TestClient) -> None:
    page = add(owner)
    link = invitation(owner, page)
    assert "<svg" in owner.post(f"{page}/invitation").text
    assert stranger.post(link, data={"name": "Neighbour", **PASSWORD}).status_code == 410, "a newer one ended it"
    link = invitation(owner, page)
    assert stranger.post(link, data={"name": "Neighbour", **PASSWORD}).status_code == 303
    assert stranger.get("/caves").status_code == 200
    assert stranger.get("/readings/type").status_code == 403
    assert stranger.get("/settings/people").status_code == 403
    assert "Neighbour" in owner.get("/settings/people").text


def test_an_invitation_waits_a_week(
    owner: TestClient, visitor: Callable[[Role], TestClient], clock: ManualClock
) -> None:
    link = invitation(owner, add(owner))
    clock.advance(timedelta(days=6, hours=23))
    assert visitor("anyone").get(link).status_code == 200
    clock.advance(timedelta(hours=1))
    assert visitor("anyone").get(link).status_code == 410


def test_days_hold_from_the_first_to_the_end_of_the_last(
    owner: TestClient, stranger: TestClient, clock: ManualClock
) -> None:
    page = add(owner, role="helper", **{"from": "2026-03-14", "to": "2026-03-16"})
    assert "from 14 March 00:00 until 16 March 23:59" in owner.get(page).text
    assert stranger.post(invitation(owner, page), data={"name": "Neighbour", **PASSWORD}).status_code == 403
    clock.set(NOW_AT.replace(day=14, hour=0, minute=0))
    assert stranger.post("/sign-in", data={"name": "Neighbour", **PASSWORD}).status_code == 303
    clock.set(NOW_AT.replace(day=16, hour=23, minute=59))
    assert stranger.get("/round").status_code == 200
    clock.set(NOW_AT.replace(day=17, hour=0, minute=0))
    assert stranger.get("/round").status_code == 303


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({"name": " "}, "1 to 80 characters"),
        ({"name": "x" * 81}, "this has 81"),
        ({"name": "a\u202eb"}, "letters that can be seen"),
        ({"role": "anyone"}, "one of the choices"),
        ({"from": "2026-03-20", "to": "2026-03-19"}, "must not lie before the first"),
        ({"to": "2026-03-11"}, "must still be to come"),
        ({"to": "soon"}, "The day"),
    ],
)
def test_what_cannot_be_is_refused_with_the_text_kept(owner: TestClient, typed: dict[str, str], said: str) -> None:
    answer = owner.post("/settings/people", data={**NEW, **typed})
    assert answer.status_code == 422
    assert said in answer.text


def test_two_people_have_two_names(owner: TestClient) -> None:
    add(owner)
    assert "called Neighbour already" in owner.post("/settings/people", data=NEW).text


def test_a_changed_role_holds_at_once(owner: TestClient, stranger: TestClient, engine: Engine) -> None:
    with_password(engine)
    page = add(owner)
    stranger.post(invitation(owner, page), data={"name": "Neighbour", **PASSWORD})
    assert stranger.get("/readings/type").status_code == 403
    assert owner.post(page, data={"role": "helper"}).status_code == 303
    assert stranger.get("/readings/type").status_code == 200


def test_an_ended_access_takes_sign_ins_links_and_calendar(
    owner: TestClient, stranger: TestClient, engine: Engine, clock: ManualClock
) -> None:
    with_password(engine)
    page = add(owner, role="helper")
    stranger.post(invitation(owner, page), data={"name": "Neighbour", **PASSWORD})
    link = invitation(owner, page)
    with engine.begin() as db:
        feed = new_feed(db, "Neighbour", clock.now())
    assert owner.post(f"{page}/end").status_code == 303
    assert stranger.get("/caves").status_code == 303
    assert stranger.get(link).status_code == 410
    assert owner.post(f"{page}/invitation").status_code == 404
    assert stranger.post("/sign-in", data={"name": "Neighbour", **PASSWORD}).status_code == 403
    with engine.begin() as db:
        assert who_of(db, feed, clock.now()) is None
        assert len(db.execute(select(session.c.id)).all()) == 1, "the owner's own is left"


def test_a_calendar_closes_with_its_persons_last_day(owner: TestClient, engine: Engine, clock: ManualClock) -> None:
    add(owner, role="helper", to="2026-03-13")
    with engine.begin() as db:
        feed = new_feed(db, "Neighbour", clock.now())
        assert who_of(db, feed, clock.now()) == "Neighbour"
        assert who_of(db, feed, clock.now() + timedelta(days=2)) is None


def test_somebody_stays_owner_for_always(owner: TestClient, engine: Engine) -> None:
    with reading(engine) as db:
        mine = db.execute(select(person.c.id).where(person.c.role == "owner")).scalar_one()
    page = f"/settings/people/{mine}"
    with_password(engine)
    for typed in ({"role": "guest"}, {"role": "owner", "to": "2026-03-20"}):
        answer = owner.post(page, data=typed)
        assert answer.status_code == 422
        assert "must stay owner for always" in answer.text
    assert owner.post(f"{page}/end").status_code == 422
    add(owner, name="Second", role="owner")
    assert owner.post(page, data={"role": "guest"}).status_code == 422, "one without a password cannot come in"
    with_password(engine)
    assert owner.post(page, data={"role": "guest"}).status_code == 303


def test_each_change_is_noted_with_who(owner: TestClient, engine: Engine) -> None:
    with_password(engine)
    page = add(owner)
    owner.post(page, data={"role": "helper", "to": "2026-03-20"})
    owner.post(f"{page}/invitation")
    owner.post(f"{page}/end")
    with reading(engine) as db:
        rows = db.execute(select(person_change)).all()
    assert sorted(row.what for row in rows) == ["access", "added", "ended", "link", "role"]
    assert all(row.by.startswith("The owner") for row in rows)


def test_a_page_of_nobody_is_not_found(owner: TestClient) -> None:
    for path in ("/settings/people/nobody", "/settings/people/nobody/end"):
        assert owner.request("POST" if path.endswith("end") else "GET", path).status_code == 404


def test_an_invitation_that_is_used_up_says_who_makes_another(owner: TestClient, stranger: TestClient) -> None:
    link = invitation(owner, add(owner))
    stranger.post(link, data={"name": "Neighbour", **PASSWORD})
    answer = stranger.get(link)
    assert answer.status_code == 410
    assert "An owner of this house makes a new one under Settings" in answer.text
