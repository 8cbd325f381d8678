"""What a phone keeps of each wheel's latest entries: those that stand, with what their correction needs."""

from datetime import timedelta

import pytest
from fastapi.testclient import TestClient
from sqlalchemy import Engine

from collector.records.engine import reading
from dashboard.household import Household
from dashboard.rounds.kept_lately import EACH, kept_lately
from dashboard.wheels.bodies.doings import Care, Ended, Moved, Withdrawn
from dashboard.wheels.entry_kinds import BODY
from tests.dashboard.book_kept import a_wheel, enter
from tests.dashboard.conftest import NOW_AT
from tests.dashboard.dairy import a_place


@pytest.fixture
def wheel(engine: Engine) -> str:
    with engine.begin() as db:
        return a_wheel(db, "W1", 60, a_place(db, "Upper board"), (2_100, 2_000, 1_950))


def kept(engine: Engine, wheel: str) -> list[dict[str, object]]:
    with reading(engine) as db:
        return kept_lately(db, NOW_AT, Household()).get(wheel, [])


def words(engine: Engine, wheel: str) -> list[object]:
    return [one["words"] for one in kept(engine, wheel)]


def test_the_latest_stand_first_and_old_ones_are_left_out(engine: Engine, wheel: str) -> None:
    assert words(engine, wheel) == []  # the last weighing is forty days old
    with engine.begin() as db:
        for days_ago in range(EACH + 2):
            enter(db, Care(care="turned" if days_ago else "brushed"), days_ago, wheel_id=wheel)
    assert words(engine, wheel) == ["brushed (The keeper)"] + ["turned (The keeper)"] * (EACH - 1)


def test_what_was_taken_back_is_left_out(engine: Engine, wheel: str) -> None:
    with engine.begin() as db:
        first, second = (enter(db, Care(care=care), 2, wheel_id=wheel) for care in ("oiled", "wiped"))
        enter(db, Withdrawn(), 1, wheel_id=wheel, replaces=first)
        enter(db, Care(care="washed"), 1, wheel_id=wheel, replaces=second)
    assert words(engine, wheel) == ["washed (The keeper)"]


def test_a_wheel_that_is_gone_is_left_out(engine: Engine, wheel: str) -> None:
    with engine.begin() as db:
        enter(db, Care(care="turned"), 2, wheel_id=wheel)
        enter(db, Ended(how="eaten"), 1, wheel_id=wheel)
    assert words(engine, wheel) == []


def test_what_a_correction_carries_over_comes_along(engine: Engine, wheel: str) -> None:
    with engine.begin() as db:
        place = a_place(db, "Lower board")
        enter(db, Moved(spot="left", position=4), 1, wheel_id=wheel, place_id=place)
    (one,) = kept(engine, wheel)
    sent = one["entry"]
    assert isinstance(sent, dict)
    assert BODY.validate_python(sent["body"]) == Moved(spot="left", position=4)
    assert (sent["wheel_id"], sent["place_id"], one["carried"]) == (wheel, place, {"position": 4})
    assert sent["done_at"] == (NOW_AT - timedelta(days=1)).isoformat()


def test_a_guest_keeps_none_of_it(guest: TestClient, helper: TestClient, engine: Engine, wheel: str) -> None:
    with engine.begin() as db:
        enter(db, Care(care="turned"), 2, wheel_id=wheel)
    assert guest.get("/round/lately.json").status_code == 403
    assert [one["words"] for one in helper.get("/round/lately.json").json()["wheels"][wheel]] == ["turned (The keeper)"]
