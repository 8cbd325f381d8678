"""A style's air and losses are changed on its page, used by caves, targets and weights, and taken back to ours."""

import re
from collections.abc import Iterator
from contextlib import contextmanager

import pytest
from fastapi.testclient import TestClient
from sqlalchemy import Connection, Engine

from collector.records.columns import new_id
from collector.records.engine import reading
from collector.records.places import load_facts
from dashboard.household import Household
from dashboard.residents import residents
from dashboard.rounds.plans import texts_of
from dashboard.wheels.book import styles
from dashboard.wheels.kinds.styles import STYLES
from dashboard.wheels.weight.advice import limits_for
from tests.browser.rounds.cellar import Cellar, a_cellar
from tests.dashboard.conftest import NOW_AT

TOMME = STYLES["tomme"]


@pytest.fixture
def cellar(engine: Engine) -> Cellar:
    return a_cellar(engine, (2,), NOW_AT)


@contextmanager
def book(engine: Engine) -> Iterator[Connection]:
    with reading(engine) as db:
        yield db


def change(helper: TestClient, engine: Engine, **texts: str) -> str:
    """Change the one style's form; its address."""
    with book(engine) as db:
        (style,) = styles(db)
    plain = {name.replace("_at_", "-"): text for name, text in texts.items()}
    form = {"seed": new_id(), **texts_of(style.sheet, Household()), **plain}
    assert helper.post(f"/care-plans/{style.id}", data=form).status_code == 303
    return f"/care-plans/{style.id}"


def test_what_is_changed_is_what_caves_and_weights_go_by(helper: TestClient, engine: Engine, cellar: Cellar) -> None:
    change(helper, engine, temperature_high_c="12", humidity_low_pct="80", least_at_1="9", most_at_1="11")
    with book(engine) as db:
        (style,) = styles(db)
        (group,) = [one for groups in residents(db).values() for one in groups]
    assert (group.likes.temperature_high_c, group.likes.humidity_low_pct) == (12, 80)
    assert (group.likes.temperature_low_c, group.likes.humidity_high_pct) == (10, 92)
    limits = limits_for(style.sheet.losses, 2_100)
    assert limits is not None
    assert (limits.low_pct, limits.high_pct) == (9, 11)


def test_where_a_number_comes_from_is_said_and_the_way_back_is_one_touch(
    helper: TestClient, engine: Engine, cellar: Cellar
) -> None:
    with book(engine) as db:
        (style,) = styles(db)
    page = helper.get(f"/care-plans/{style.id}").text
    assert page.count("Ours to begin with: common practice, no source.") == 4
    assert "Back to ours" not in page
    path = change(helper, engine, temperature_high_c="12", least_at_1="9")
    page = helper.get(path).text
    assert re.search(r"Your own, set by The helper [^<]* on 12 March 2026. Ours: 10.0 to 13.0 °C, 85 to 92 %", page)
    assert page.count(">Back to ours<") == 2
    answer = helper.post(f"{path}/ours", data={"seed": new_id(), "part": "air"})
    assert answer.headers["location"] == path
    with book(engine) as db:
        (style,) = styles(db)
    assert (style.sheet.temperature_high_c, style.sheet.losses[1].low_pct) == (13, 9)
    assert helper.post(f"{path}/ours", data={"seed": "", "part": "losses"}).status_code == 422
    assert helper.post(f"{path}/ours", data={"seed": new_id(), "part": "taste"}).status_code == 404


def test_a_published_band_is_told_from_common_practice(helper: TestClient, engine: Engine) -> None:
    page = helper.get("/care-plans/new:alpine").text
    assert "humidity by University of Guelph, Food Science" in page
    assert "loses 8 to 16 % up to 1 kg, 6 to 12 % up to 4 kg, 5 to 10 % above" in page


def test_a_renamed_style_still_finds_the_way_back(helper: TestClient, engine: Engine) -> None:
    form = {"seed": new_id(), **texts_of(TOMME, Household()), "name": "hill", "humidity_high_pct": "90"}
    path = helper.post("/care-plans/new:tomme", data=form).headers["location"]
    assert "Ours: 10.0 to 13.0 °C, 85 to 92 %" in helper.get(path).text
    own = {"seed": new_id(), "name": "mine", "rind": "washed", "humidity_low_pct": "90", "humidity_high_pct": "96"}
    path = helper.post("/care-plans/new", data=own).headers["location"]
    page = helper.get(path).text
    assert "likes 90 to 96 %" in page
    assert "Back to ours" not in page


def test_a_refused_form_keeps_what_was_typed(helper: TestClient, engine: Engine, cellar: Cellar) -> None:
    with book(engine) as db:
        (style,) = styles(db)
    form = {"seed": new_id(), **texts_of(style.sheet, Household()), "most-0": "5", "size-3": "9", "least-3": "1"}
    refused = helper.post(f"/care-plans/{style.id}", data=form)
    assert refused.status_code == 422
    assert "The most must be at least the least, 10 %, got 5 %." in refused.text
    assert 'name="size-3" type="text" autocomplete="off" maxlength="20" value="9"' in refused.text


def test_the_change_is_told_with_its_numbers(owner: TestClient, engine: Engine, cellar: Cellar) -> None:
    change(owner, engine, humidity_low_pct="82", most_at_2="10")
    page = owner.get("/settings/changes?kind=wheels").text
    assert "air 10.0 to 13.0 °C, 82 to 92 %" not in page  # only what was said is told
    assert "air at least 82 %; loses 10 to 20 % up to 1 kg, 8 to 15 % up to 4 kg, 6 to 10 % above" in page


def test_a_target_begins_from_a_style_of_ones_own(owner: TestClient, engine: Engine, cellar: Cellar) -> None:
    change(owner, engine, humidity_low_pct="86", humidity_high_pct="90")
    with book(engine) as db:
        (style,) = styles(db)
    chosen = f"style:{style.id}"
    page = owner.get(f"/targets/{cellar.shelves[0]}?preset={chosen}").text
    assert f'value="{chosen}" selected' in page
    # An unchecked probe is off by 3 points, so four points are widened to six.
    assert 'name="humidity_low_pct" type="text" autocomplete="off" maxlength="20" value="85"' in page
    assert "because nobody has checked this probe" in page
    new = {"name": "Box", "kind": "box", "parent": "", "preset": chosen}
    assert owner.post("/places/new", data=new).status_code == 303
    with book(engine) as db:
        facts = load_facts(db)
    (target,) = next(t for p, t in facts.targets.items() if facts.places[p].name == "Box")
    assert (target.temperature_low_c, target.humidity_low_pct, target.humidity_high_pct) == (10, 85, 91)
