"""A new owner is led through the first steps, once."""

from fastapi.testclient import TestClient
from sqlalchemy import Engine, delete

from collector.records.tables import setting


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
