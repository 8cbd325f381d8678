"""Styles and care plans: changed for all wheels of a style at once, taken up from those to begin with, made anew."""

import re

import pytest
from fastapi.testclient import TestClient
from sqlalchemy import Engine

from collector.records.columns import new_id
from collector.records.engine import reading
from dashboard.household import Household
from dashboard.rounds.plans import texts_of
from dashboard.wheels.book import styles
from dashboard.wheels.kinds.styles import STYLES
from tests.browser.rounds.cellar import Cellar, a_cellar
from tests.dashboard.conftest import NOW_AT


@pytest.fixture
def cellar(engine: Engine) -> Cellar:
    return a_cellar(engine, (2,), NOW_AT)


def test_another_plan_makes_the_round_ask_for_other_things(helper: TestClient, engine: Engine, cellar: Cellar) -> None:
    page = helper.get("/care-plans").text
    assert "2 wheels; turned every day until 14 days, from 14 days every 3 days until 42 days" in page
    with reading(engine) as db:
        (style,) = styles(db)
    form = {"seed": new_id(), **texts_of(style.sheet, Household()), "care-9": "oiled", "every-9": "5"}
    assert "oiled" not in helper.get("/round").text.split('class="shelf"')[2].split("More for")[0]
    answer = helper.post(f"/care-plans/{style.id}", data=form)
    assert answer.headers["location"] == f"/care-plans/{style.id}"
    assert "oiled every 5 days" in helper.get(f"/care-plans/{style.id}").text
    assert helper.get("/round").text.count('data-due="oiled"') == 2
    undo = re.search(r'action="(/round/undo/[^"]+)"', helper.get("/care-plans").text)
    assert undo is None  # the note was shown on the page before
    helper.post(f"/care-plans/{style.id}", data={**form, "seed": new_id(), "care-9": ""})
    assert 'data-due="oiled"' not in helper.get("/round").text


def test_a_style_to_begin_with_is_taken_up_once(helper: TestClient, engine: Engine, cellar: Cellar) -> None:
    form = {"seed": new_id(), **texts_of(STYLES["clothbound"], Household()), "every-0": "2"}
    assert [helper.post("/care-plans/new:clothbound", data=form).status_code for _ in range(2)] == [303, 303]
    with reading(engine) as db:
        kept = {style.sheet.name: style.sheet for style in styles(db)}
    own = kept["cloth-bound hard cheese"]
    assert (own.plan[0].every_d, own.losses, len(kept)) == (2, STYLES["clothbound"].losses, 2)


def test_a_style_of_ones_own_and_what_is_refused(helper: TestClient, engine: Engine, cellar: Cellar) -> None:
    form = {"seed": new_id(), "name": "mountain", "rind": "washed", "care-0": "washed", "every-0": "2"}
    refused = helper.post("/care-plans/new", data={**form, "every-0": "often"})
    assert refused.status_code == 422
    assert "Give whole days, at most 3650, got often." in refused.text
    assert helper.post("/care-plans/new", data=form).status_code == 303
    assert "mountain" in helper.get("/care-plans").text
    assert helper.get(f"/care-plans/{new_id()}").status_code == 404
