"""The person's own order: shelves up and down, a wheel before another one."""

import pytest
from fastapi.testclient import TestClient
from sqlalchemy import Engine

from collector.records.columns import new_id
from collector.records.engine import reading
from dashboard.household import Household
from dashboard.rounds.shelves import round_of
from tests.browser.rounds.cellar import Cellar, a_cellar
from tests.dashboard.conftest import NOW_AT


@pytest.fixture
def cellar(engine: Engine) -> Cellar:
    return a_cellar(engine, (4, 2), NOW_AT)


def codes(engine: Engine) -> list[list[str]]:
    with reading(engine) as db:
        shelves = round_of(db, NOW_AT, Household()).shelves
    return [[row.wheel.code for row in shelf.rows] for shelf in shelves if shelf.rows]


def test_a_shelf_goes_one_up(helper: TestClient, engine: Engine, cellar: Cellar) -> None:
    page = helper.get("/round/order").text
    assert page.index("Left shelf") < page.index("Right shelf")
    helper.post(f"/round/order/{cellar.shelves[1]}/shift", data={"way": "up"})
    page = helper.get("/round/order").text
    assert page.index("Right shelf") < page.index("Left shelf")


def test_a_wheel_is_put_before_another_one_at_the_end_and_back(
    helper: TestClient, engine: Engine, cellar: Cellar
) -> None:
    path, wheels = f"/round/order/{cellar.shelves[0]}", cellar.wheels
    helper.post(path, data={"seed": new_id(), "wheel": wheels["24-04"], "before": wheels["24-01"]})
    assert codes(engine)[0] == ["24-04", "24-01", "24-02", "24-03"]
    helper.post(path, data={"seed": new_id(), "wheel": wheels["24-01"], "before": ""})
    assert codes(engine) == [["24-04", "24-02", "24-03", "24-01"], ["24-05", "24-06"]]
    answer = helper.get(path).text
    assert "Put there." in answer


def test_without_a_mark_nothing_moves_and_the_page_says_so(helper: TestClient, engine: Engine, cellar: Cellar) -> None:
    path = f"/round/order/{cellar.shelves[0]}"
    helper.post(path, data={"seed": new_id(), "before": cellar.wheels["24-01"]})
    assert "Mark the wheel that you want to put elsewhere." in helper.get(path).text
    assert codes(engine)[0] == ["24-01", "24-02", "24-03", "24-04"]
    assert helper.get(f"/round/order/{new_id()}").status_code == 404
