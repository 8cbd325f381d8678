"""By age: wheels from day 0 beside each other, and how the last three stood."""

import csv
import html
import io
import json
import re
from datetime import timedelta
from typing import Any

import pytest
from fastapi.testclient import TestClient
from sqlalchemy import Engine

from collector.records.columns import new_id
from dashboard.wheels.bodies.doings import Tasting, Weighing
from dashboard.wheels.bodies.make import MakeSheet
from dashboard.wheels.bodies.sheets import StyleSheet, WheelSheet
from tests.dashboard.conftest import NOW_AT
from tests.dashboard.pages.test_caves import words_of
from tests.dashboard.pages.test_side_by_side import entered

TODAY = NOW_AT.date()
MAKE = new_id()


@pytest.fixture
def dairy(engine: Engine) -> None:
    """Four tommes of several ages, each lighter by 4 % a month for three months; a blue beside them."""
    tomme, blue = new_id(), new_id()
    with engine.begin() as db:
        for style_id, name in ((tomme, "tomme"), (blue, "blue")):
            entered(db, StyleSheet(name=name), None, 300, style_id=style_id)
        entered(db, MakeSheet(code="M9", style_id=tomme), None, 200, make_id=MAKE)
        for code, style_id, age_d in (
            ("T1", tomme, 150), ("T2", tomme, 140), ("T3", tomme, 130), ("T4", tomme, 120), ("T5", tomme, 20),
            ("B1", blue, 100),
        ):  # fmt: skip
            wheel_id = new_id()
            own = {"make_id": MAKE} if code == "T1" else {}
            sheet = WheelSheet(code=code, style_id=style_id, made_on=TODAY - timedelta(days=age_d), **own)
            entered(db, sheet, wheel_id, age_d)
            for number, scale_g in enumerate((2_000, 1_920, 1_840, 1_760)):
                if age_d > 30 * number:
                    entered(db, Weighing(scale_g=scale_g), wheel_id, age_d - 30 * number)
            if age_d > 90:
                tasted = Tasting(verdict=4, flavour=f"round {code}", next_time="Smaller curd.")
                entered(db, tasted, wheel_id, age_d - 92)


def figure_of(page: str) -> dict[str, Any]:
    text = re.search(r'<script type="application/json" id="by-age-figure">(.*?)</script>', page, re.DOTALL)
    assert text is not None
    found: dict[str, Any] = json.loads(html.unescape(text[1]))
    return found


def test_the_last_three_that_reached_the_age_are_told(guest: TestClient, dairy: None) -> None:
    said = words_of(guest.get("/wheels/by-age?age=90").text)
    told, rest = said.split("All that reached")
    told = told.split("How did the last three stand at three months?")[1]
    assert [code for code in ("T1", "T2", "T3", "T4", "T5") if code in told] == ["T2", "T3", "T4"]
    assert "Lost 12.0 %, verdict 4 of 5. round T4." in told
    assert "Next time: Smaller curd." in told
    assert "T1" in rest


def test_the_style_with_most_wheels_is_shown_those_of_the_age_first_from_day_0(guest: TestClient, dairy: None) -> None:
    figure = figure_of(guest.get("/wheels/by-age").text)
    losses = [trace for trace in figure["data"] if trace["yaxis"] == "y"]
    assert [trace["name"] for trace in losses] == ["T4", "T3", "T2", "T1", "T5"]
    assert losses[0]["x"] == pytest.approx([0.1, 30.1, 60.1, 90.1], abs=0.05)  # 14:10 on a day that counts from noon
    assert losses[0]["y"] == [0.0, 4.0, 8.0, 12.0]
    assert len({json.dumps(trace["marker"]) for trace in losses}) == 5


def test_one_make_can_be_chosen(guest: TestClient, dairy: None) -> None:
    figure = figure_of(guest.get(f"/wheels/by-age?make={MAKE}").text)
    assert {trace["name"] for trace in figure["data"]} == {"T1"}


def test_the_csv_has_every_weighing_and_tasting(guest: TestClient, dairy: None) -> None:
    rows = list(csv.reader(io.StringIO(guest.get("/wheels/by-age.csv").text)))
    assert rows[0] == ["wheel", "age (days)", "lost (%)", "verdict (1 to 5)", "tasted"]
    assert len([row for row in rows if row[0] == "T1"]) == 5
    assert ["4", "round T1"] in [row[3:] for row in rows]


def test_an_empty_book_says_so(guest: TestClient) -> None:
    assert "No wheel of these has been weighed" in words_of(guest.get("/wheels/by-age").text)
