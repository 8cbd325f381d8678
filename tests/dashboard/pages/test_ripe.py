"""Ripe when: windows in order, cut to the year, and by when to make for a day."""

from datetime import timedelta

import pytest
from fastapi.testclient import TestClient
from sqlalchemy import Engine

from collector.records.columns import new_id
from dashboard.wheels.bodies.sheets import StyleSheet, WheelSheet
from tests.dashboard.conftest import NOW_AT
from tests.dashboard.pages.test_caves import words_of
from tests.dashboard.pages.test_side_by_side import entered

TODAY = NOW_AT.date()  # 12 March 2026


@pytest.fixture
def dairy(engine: Engine) -> str:
    """Tommes that are ripe from 60 to 180 days, and a wheel without a day; the id of the first is returned."""
    style_id, first = new_id(), new_id()
    with engine.begin() as db:
        entered(db, StyleSheet(name="tomme", ripe_from_d=60, ripe_to_d=180), None, 300, style_id=style_id)
        for wheel_id, code, age_d in ((first, "R1", 70), (new_id(), "R2", 10), (new_id(), "R3", 400)):
            sheet = WheelSheet(code=code, made_on=TODAY - timedelta(days=age_d), style_id=style_id)
            entered(db, sheet, wheel_id, 5)
        entered(db, WheelSheet(code="R4"), new_id(), 5)
    return first


def test_each_wheel_says_when_it_is_ripe(guest: TestClient, dairy: str) -> None:
    page = guest.get("/wheels/ripe").text
    said = words_of(page)
    assert "ripe now, until 30 June" in said
    assert "1 May to 29 August" in said
    assert "past its best since" in said
    assert "Nothing can be said of: R4" in said
    assert f'href="/wheels/{dairy}"' in page
    assert page.index("R3") < page.index("R1") < page.index("R2")


def test_for_15_december_it_says_by_when_to_make(guest: TestClient, dairy: str) -> None:
    said = words_of(guest.get("/wheels/ripe").text)
    assert "For 15 December 2026" in said
    assert "make between 18 June 2026 and 16 October 2026" in said


def test_a_day_too_near_is_told_with_what_will_be_ripe_anyway(guest: TestClient, dairy: str) -> None:
    said = words_of(guest.get("/wheels/ripe?day=1+May").text)
    assert "too late to make: it had to be by 2 March 2026" in said
    assert "Will be ripe then: R1, R2" in said


def test_a_day_that_cannot_be_read_is_refused_with_the_page_kept(guest: TestClient, dairy: str) -> None:
    answer = guest.get("/wheels/ripe?day=soonish")
    assert answer.status_code == 422
    assert 'value="soonish"' in answer.text
    assert "R1" in answer.text


def test_an_empty_book_says_so(guest: TestClient) -> None:
    assert "No living wheel has a day of making" in words_of(guest.get("/wheels/ripe").text)
