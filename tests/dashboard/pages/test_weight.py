"""The pages of weight to come: one wheel's and a cave's."""

import re
from datetime import timedelta

from fastapi.testclient import TestClient
from sqlalchemy import Engine, func, select

from collector.records.columns import to_ms
from collector.settings import Settings
from dashboard.weights.keeping import keep_all
from dashboard.weights.kept import Forecast, keep_tried
from dashboard.wheels.tables import forecast
from tests.dashboard.conftest import NOW_AT
from tests.dashboard.pages.test_cave import links_of
from tests.dashboard.pages.test_caves import words_of
from tests.dashboard.weights.aged import Aged
from tests.dashboard.weights.conftest import two_months, wheels_aged  # noqa: F401


def test_a_wheel_is_foretold_and_that_is_kept_once(guest: TestClient, engine: Engine, wheels_aged: Aged) -> None:  # noqa: F811
    path = f"/wheels/{wheels_aged.even}/weight"
    page = guest.get(path)
    assert page.status_code == 200
    said = words_of(page.text)
    assert "On course. By " in said
    assert "Where it would do better" in said
    assert "No forecast has come due yet." in said
    guest.get(path)
    with engine.connect() as db:
        assert db.execute(select(func.count()).select_from(forecast)).scalar() == 1


def test_what_was_tried_on_past_days_stands_apart(guest: TestClient, engine: Engine, wheels_aged: Aged) -> None:  # noqa: F811
    path, made_at = f"/wheels/{wheels_aged.even}/weight", NOW_AT - timedelta(days=40)
    assert "tried on past days" not in words_of(guest.get(path).text)
    with engine.begin() as db:
        found = Forecast(wheels_aged.even, to_ms(NOW_AT - timedelta(days=10)), 2300.0, 2350.0, 2400.0, {})
        keep_tried(db, found, made_at, 2_360.0, NOW_AT)
    said = words_of(guest.get(path).text)
    assert "This one, tried on past days: 1 came due, 1 was inside." in said
    assert "All wheels: No forecast has come due yet." in said
    other = words_of(guest.get(f"/wheels/{wheels_aged.fast}/weight").text)
    assert "All wheels, tried on past days: 1 came due, 1 was inside." in other
    assert "This one, tried" not in other


def test_it_is_reached_from_the_wheel_and_from_the_cave(guest: TestClient, wheels_aged: Aged) -> None:  # noqa: F811
    own = guest.get(f"/wheels/{wheels_aged.even}").text
    assert f"/wheels/{wheels_aged.even}/weight" in links_of(own).values()
    cave = guest.get(f"/caves/{wheels_aged.cave}").text
    assert f"/caves/{wheels_aged.cave}/weight" in links_of(cave).values()


def test_a_wish_that_is_not_understood_stands_beside_its_field(guest: TestClient, wheels_aged: Aged) -> None:  # noqa: F811
    page = guest.get(f"/wheels/{wheels_aged.even}/weight", params={"aim": "much", "on": "soon"})
    assert page.status_code == 422
    said = words_of(page.text)
    assert "A loss is a number above 0 and at most 45 %, got much." in said
    assert "A day looks like 2026-03-12, got soon." in said


def test_there_is_no_weight_of_no_wheel(guest: TestClient, wheels_aged: Aged) -> None:  # noqa: F811
    assert guest.get("/wheels/nobody/weight").status_code == 404
    assert guest.get("/caves/nowhere/weight").status_code == 404


def test_a_cave_says_which_humidity_suits_beside_what_it_held(
    guest: TestClient,
    settings: Settings,
    wheels_aged: Aged,  # noqa: F811
) -> None:
    path = f"/caves/{wheels_aged.cave}/weight"
    assert "No wheel here was weighed often enough" in words_of(guest.get(path).text)
    keep_all(settings, NOW_AT)
    said = words_of(guest.get(path).text)
    assert re.search(r"Lower fridge held 8[234] to 8[456] % in the last month, nine hours in ten\.", said)
    assert "not checked yet" in said
    assert "26-01A" in said
    assert "26-01C" not in said  # bagged: the cave's air does not reach it


def test_a_guest_may_look_but_not_start_the_work(guest: TestClient, helper: TestClient, wheels_aged: Aged) -> None:  # noqa: F811
    path = f"/caves/{wheels_aged.cave}/weight"
    assert guest.post(path).status_code == 403
    assert "Work out now" in helper.get(path).text
    assert helper.post(path).headers["location"] == path
