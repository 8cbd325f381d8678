"""Boards, scales, brine: added, looked after, changed; what was weighed before stays as it was."""

import pytest
from fastapi.testclient import TestClient
from sqlalchemy import Engine

from collector.records.columns import new_id
from collector.records.engine import reading
from dashboard.wheels import tables
from dashboard.wheels.book import gear, wheels
from tests.browser.rounds.cellar import Cellar, a_cellar
from tests.dashboard.conftest import NOW_AT
from tests.dashboard.pages.test_round import rows


@pytest.fixture
def cellar(engine: Engine) -> Cellar:
    return a_cellar(engine, (1,), NOW_AT)


def test_a_board_is_added_with_its_weight(helper: TestClient, engine: Engine) -> None:
    form = {"seed": new_id(), "gear": "board", "name": "Board 4", "weight": "1 lb 12 oz"}
    assert [helper.post("/gear", data=form).status_code for _ in range(2)] == [303, 303]
    with reading(engine) as db:
        found = gear(db)
    assert [one.name for one in found] == ["Board 4"]
    assert found[0].sheet.tare_g == pytest.approx(453.59237 + 12 * 28.349523125)  # NIST SP 811, appendix B.8
    assert "Board 4" in helper.get("/gear").text


@pytest.mark.parametrize(
    ("form", "said"),
    [({"gear": "hat", "name": "x"}, "Say what it is."), ({"gear": "board"}, "Give it a name"),
     ({"gear": "board", "name": "x", "weight": "heavy"}, "is not a number with a unit")],
)  # fmt: skip
def test_what_is_missing_is_said_and_the_rest_kept(
    helper: TestClient, engine: Engine, form: dict[str, str], said: str
) -> None:
    answer = helper.post("/gear", data={"seed": new_id(), "holds": "whey", **form})
    assert answer.status_code == 422
    assert said in answer.text
    assert 'value="whey"' in answer.text


def test_brine_is_measured_and_its_history_shown(helper: TestClient, engine: Engine, cellar: Cellar) -> None:
    path = f"/gear/{cellar.brine}"
    helper.post(f"{path}/check", data={"seed": new_id(), "strength_pct": "18,5", "ph": "5.0", "boiled": "yes"})
    page = helper.get(path).text
    assert "18.5 %, pH 5, boiled" in page
    assert "20 %, pH 5.2" in page
    answer = helper.post(f"{path}/check", data={"seed": new_id()})
    assert answer.status_code == 422
    assert "Fill in what was measured, or mark what was done." in answer.text


def test_a_wheels_care_stands_in_the_history_of_its_jar(helper: TestClient, engine: Engine, cellar: Cellar) -> None:
    wheel = cellar.wheels["24-01"]
    helper.post(f"/at/{wheel}/care", data={"seed": new_id(), "care": "washed", "gear": cellar.jar})
    page = helper.get(f"/gear/{cellar.jar}").text
    assert "washed" in page
    assert f"/at/{wheel}" in page


def test_another_tare_holds_from_now_on_and_out_of_use_leaves_the_lists(
    helper: TestClient, engine: Engine, cellar: Cellar
) -> None:
    path = f"/gear/{cellar.board}/change"
    helper.post(path, data={"seed": new_id(), "name": "Board 3", "weight": "780"})
    with reading(engine) as db:
        board = gear(db, tables.gear.c.id == cellar.board)[0]
        assert board.sheet.tare_g == 780
        assert wheels(db)[0].net_g == 2_100
    helper.post(path, data={"seed": new_id(), "name": "Board 3", "weight": "780", "retired": "yes"})
    assert "on Board 3" not in helper.get(f"/at/{cellar.wheels['24-01']}").text
    helper.post(path, data={"seed": new_id(), "name": "Board 3", "weight": "780"})
    assert "on Board 3" in helper.get(f"/at/{cellar.wheels['24-01']}").text


def test_gear_that_is_not_there(helper: TestClient, guest: TestClient, engine: Engine, cellar: Cellar) -> None:
    assert helper.get(f"/gear/{new_id()}").status_code == 404
    assert guest.get(f"/gear/{cellar.brine}").status_code == 200
    assert guest.post(f"/gear/{cellar.brine}/check", data={"ph": "5"}).status_code == 403
    assert rows(engine, "gear_check") == []
