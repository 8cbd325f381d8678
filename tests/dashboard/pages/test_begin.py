"""A new owner is led through the first steps, once."""

import re

from fastapi.testclient import TestClient
from sqlalchemy import Engine, delete

from collector.records.tables import setting
from tests.collector.notify.servers import web_server


def test_the_first_page_is_the_first_steps_until_they_are_left(
    owner: TestClient, guest: TestClient, engine: Engine
) -> None:
    with engine.begin() as db:
        db.execute(delete(setting))
    assert owner.get("/").headers["location"] == "/begin"
    assert guest.get("/").headers["location"] != "/begin"
    assert owner.get("/begin").text.count('<span class="done">done') == 1
    saved = owner.post("/settings/household", data={"time_zone": "UTC", "temperature_unit": "C", "weight_unit": "kg",
                                            "date_form": "day-month"})  # fmt: skip
    assert saved.headers["location"] == "/begin"
    assert owner.get("/begin").text.count('<span class="done">done') == 2
    owner.post("/begin/done")
    assert owner.get("/").headers["location"] != "/begin"


def test_who_notices_a_dead_machine_is_asked_tested_and_ticked_off(owner: TestClient, engine: Engine) -> None:
    with engine.begin() as db:
        db.execute(delete(setting).where(setting.c.key == "first_start.done"))
    assert "Who tells you when this machine itself is dead?" in owner.get("/begin").text
    with web_server() as server:
        url = f"http://127.0.0.1:{server.port}/beat"
        server.status = 500
        added = owner.post("/settings/warnings/add/heartbeat", data={"url": url})
        assert added.headers["location"] == "/begin"
        page = owner.get("/begin").text
        assert "did not answer" in page
        assert page.count('<span class="done">done') == 2  # the password and the household of this house
        server.status = 200
        way = re.search(r"/settings/warnings#way-([\w-]+)", page)
        assert way is not None
        owner.post(f"/settings/warnings/ways/{way[1]}/test")
        assert {request.path for request in server.requests} == {"/beat"}
    assert owner.get("/begin").text.count('<span class="done">done') == 3


def test_the_question_of_a_dead_machine_can_be_put_off(owner: TestClient) -> None:
    owner.post("/begin/heartbeat-later")
    owner.post("/begin/heartbeat-later")
    page = owner.get("/begin").text
    assert "<small>put off</small>" in page
    assert "/settings/warnings/add/heartbeat" in page
    assert "/begin/heartbeat-later" not in page
