"""The round on paper and back: boxes for every wheel, keyed in with one time for all."""

import re
from datetime import UTC, datetime

import pytest
from fastapi.testclient import TestClient
from sqlalchemy import Engine

from collector.clock import ManualClock
from collector.records.columns import new_id
from tests.browser.rounds.cellar import Cellar, a_cellar
from tests.dashboard.conftest import NOW_AT
from tests.dashboard.pages.test_round import rows, seed_of


@pytest.fixture
def cellar(engine: Engine) -> Cellar:
    return a_cellar(engine, (3, 2), NOW_AT)


def test_the_paper_has_a_line_with_boxes_for_every_wheel(guest: TestClient, engine: Engine, cellar: Cellar) -> None:
    page = guest.get("/round/paper").text
    assert [code for code in cellar.wheels if f"<strong>{code}</strong>" in page] == list(cellar.wheels)
    assert page.index("Left shelf") < page.index("24-01") < page.index("Right shelf") < page.index("24-04")
    assert page.count('role="img" aria-label="box"') == 2 * len(cellar.wheels)


def test_all_this_was_at_eight_this_morning(helper: TestClient, engine: Engine, cellar: Cellar) -> None:
    page = helper.get("/round/paper/key-in").text
    assert re.search(r'name="when"[^>]*value="2026-03-12T08:00"', page)
    form = {"seed": seed_of(page), "when": "2026-03-12T08:00", "unit": "g", f"all-{cellar.shelves[0]}": "yes",
            f"weight-{cellar.wheels['24-04']}": "2870", f"board-{cellar.wheels['24-04']}": cellar.board}  # fmt: skip
    assert "on Board 3 (800 g)" in page
    assert [helper.post("/round/paper/key-in", data=form).status_code for _ in range(2)] == [303, 303]
    made = [*rows(engine, "care"), *rows(engine, "weighing")]
    assert len(made) == 4
    assert {row["happened_at"] for row in made} == {datetime(2026, 3, 12, 8, tzinfo=UTC)}
    assert all(row["typed_time"] for row in made)
    assert made[-1]["body"]["tare_g"] == 800
    assert "Kept: 4 entries." in helper.get("/round").text


def test_before_eight_the_time_is_now(helper: TestClient, engine: Engine, cellar: Cellar, clock: ManualClock) -> None:
    clock.set(datetime(2026, 3, 13, 6, 30, tzinfo=UTC))
    assert re.search(r'name="when"[^>]*value="2026-03-13T06:30"', helper.get("/round/paper/key-in").text)


def test_a_weight_that_cannot_be_read_keeps_nothing_and_loses_nothing(
    helper: TestClient, engine: Engine, cellar: Cellar
) -> None:
    one = cellar.wheels["24-01"]
    form = {"seed": new_id(), "when": "2026-03-12T08:00", f"all-{cellar.shelves[0]}": "yes", f"weight-{one}": "heavy"}
    answer = helper.post("/round/paper/key-in", data=form)
    assert answer.status_code == 422
    assert "24-01:" in answer.text
    assert f'name="all-{cellar.shelves[0]}" value="yes" checked' in answer.text
    assert 'value="heavy" aria-invalid="true"' in answer.text
    assert rows(engine, "care") == []


@pytest.mark.parametrize(
    ("form", "said"), [({}, "Say when all this was."), ({"when": "2026-03-12T08:00"}, "Nothing was ticked or typed")]
)
def test_a_blank_page_is_refused(
    helper: TestClient, engine: Engine, cellar: Cellar, form: dict[str, str], said: str
) -> None:
    answer = helper.post("/round/paper/key-in", data={"seed": new_id(), **form})
    assert answer.status_code == 422
    assert said in answer.text


def test_an_odd_weight_is_kept_named_and_can_be_taken_back(helper: TestClient, engine: Engine, cellar: Cellar) -> None:
    form = {"seed": new_id(), "when": "2026-03-12T08:00", "unit": "g", f"weight-{cellar.wheels['24-05']}": "4000"}
    answer = helper.post("/round/paper/key-in", data=form)
    assert answer.status_code == 200
    assert "24-05: heavier than before; was it wet, or on its board?" in answer.text
    undo = re.search(r'action="(/round/undo/[^"]+)"', answer.text)
    assert undo
    helper.post(undo[1])
    assert rows(engine, "withdrawn")[0]["replaces"] == rows(engine, "weighing")[0]["id"]


def test_a_guest_prints_and_keys_nothing_in(guest: TestClient, engine: Engine) -> None:
    assert guest.get("/round/paper").status_code == 200
    assert guest.get("/round/paper/key-in").status_code == 403
