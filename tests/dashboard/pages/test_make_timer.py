"""The timer to the next step without script: kept with the make, replaced, stopped, and refused in plain words."""

from datetime import timedelta

import pytest
from fastapi.testclient import TestClient
from sqlalchemy import Engine

from collector.clock import ManualClock
from collector.records.columns import new_id
from dashboard.wheels.book import makes
from tests.dashboard.book_kept import a_make
from tests.dashboard.conftest import NOW_AT


@pytest.fixture
def make(engine: Engine) -> str:
    with engine.begin() as db:
        return a_make(db, 0, code="26-11")


def start(client: TestClient, make: str, **form: str) -> None:
    answer = client.post(f"/makes/{make}/timer", data={"seed": new_id(), **form})
    assert (answer.status_code, answer.headers["location"]) == (303, f"/makes/{make}")


@pytest.mark.parametrize(
    ("form", "minutes"),
    [
        ({"minutes": "15"}, 15),
        ({"minutes": "own", "own_minutes": "1 h 30"}, 90),
        ({"minutes": "own", "own_minutes": "12 h"}, 720),
    ],
)
def test_it_is_due_so_many_minutes_from_now(
    helper: TestClient, engine: Engine, make: str, form: dict[str, str], minutes: int
) -> None:
    start(helper, make, step="Cut the curd", **form)
    with engine.begin() as db:
        sheet = makes(db)[0].sheet
    assert (sheet.next_step, sheet.next_at) == ("Cut the curd", NOW_AT + timedelta(minutes=minutes))


def test_another_replaces_it_and_stop_clears_it(helper: TestClient, engine: Engine, make: str) -> None:
    start(helper, make, step="Cut the curd", minutes="15")
    start(helper, make, minutes="5")
    page = helper.get(f"/makes/{make}").text
    assert "The next step: 14:15" in page
    assert "Cut the curd: 14" not in page
    start(helper, make, minutes="stop")
    with engine.begin() as db:
        assert makes(db)[0].sheet.next_at is None


def test_a_step_that_is_late_is_said_to_have_been_due(helper: TestClient, make: str, clock: ManualClock) -> None:
    start(helper, make, step="Cut the curd", minutes="15")
    clock.advance(timedelta(hours=1))
    assert "Cut the curd: was due 14:25" in helper.get(f"/makes/{make}").text


@pytest.mark.parametrize("typed", ["", "soon", "0", "400 h"])
def test_a_time_that_is_none_is_refused_in_plain_words(
    helper: TestClient, engine: Engine, make: str, typed: str
) -> None:
    start(helper, make, minutes="own", own_minutes=typed)
    assert "Not started: " in helper.get(f"/makes/{make}").text
    with engine.begin() as db:
        assert makes(db)[0].sheet.next_at is None
