"""Who is told first, as the owner sets it."""

import re

from fastapi.testclient import TestClient
from sqlalchemy import Engine, select

from collector.notify.channels import add_channel
from collector.notify.wishes import duty_order
from collector.records.engine import reading
from collector.records.tables import person
from tests.dashboard.conftest import NOW_AT

PATH = "/settings/warnings/duty"


def ids(engine: Engine) -> dict[str, str]:
    with reading(engine) as db:
        return {row.role: row.id for row in db.execute(select(person.c.role, person.c.id))}


def order(engine: Engine) -> tuple[str, ...]:
    with reading(engine) as db:
        return duty_order(db, NOW_AT)


def test_people_are_put_in_order_moved_and_left_out(owner: TestClient, helper: TestClient, engine: Engine) -> None:
    assert helper.get(PATH).status_code == 403
    who = ids(engine)
    assert "Everybody is told at once." in owner.get(PATH).text
    owner.post(f"{PATH}/{who['owner']}/put")
    owner.post(f"{PATH}/{who['helper']}/put")
    assert order(engine) == (who["owner"], who["helper"])
    owner.post(f"{PATH}/{who['helper']}/shift", data={"way": "up"})
    owner.post(f"{PATH}/{who['helper']}/shift", data={"way": "up"})
    assert order(engine) == (who["helper"], who["owner"])
    assert re.search(r"The helper \S+, then The owner \S+ after an unseen hour", owner.get("/settings/warnings").text)
    for role in ("helper", "owner"):
        owner.post(f"{PATH}/{who[role]}/out")
    assert order(engine) == ()
    assert "Nobody is on duty now: everybody is told at once." in owner.get(PATH).text


def test_somebody_unknown_or_a_guest_is_not_on_duty(owner: TestClient, guest: TestClient, engine: Engine) -> None:
    assert guest.get(PATH).status_code == 403
    assert owner.post(f"{PATH}/{ids(engine)['guest']}/put").status_code == 404
    assert owner.post(f"{PATH}/nobody/out").status_code == 404


def test_the_page_says_who_has_no_way_of_their_own(owner: TestClient, engine: Engine) -> None:
    who = ids(engine)["owner"]
    assert "has no own way yet: is passed over" in owner.get(PATH).text
    with engine.begin() as db:
        add_channel(db, "apprise", "Pocket phone", {"url": "mailto://x"}, NOW_AT, person_id=who)
    page = owner.get(PATH).text
    assert "Pocket phone" in page
    assert "passed over" not in page
