"""Wheels that somebody has already, brought in by mistake: one touch takes them back."""

from collections.abc import Callable, Iterator

import pytest
from playwright.sync_api import Page, expect
from sqlalchemy import delete

from collector.records.engine import open_records
from collector.records.tables import place
from tests.browser.walking import Served, picture, serious

pytestmark = pytest.mark.browser


@pytest.fixture(autouse=True)
def no_place_left(served: Served) -> Iterator[None]:
    yield
    engine = open_records(served.settings.records_at)
    with engine.begin() as db:
        db.execute(delete(place).where(place.c.name == "Box by mistake"))
    engine.dispose()


def test_one_touch_takes_back_what_was_just_brought_in(owner: Callable[..., Page]) -> None:
    page = owner()
    page.goto("/wheels/add")
    page.get_by_label("Your wheels").fill("MISTAKE-1 tomme 2 kg\nMISTAKE-2 tomme 2 kg")
    page.get_by_label("or in a new place called").fill("Box by mistake")
    page.get_by_role("button", name="Read them", exact=True).click()
    page.get_by_role("button", name="Put them into the book").first.click()
    expect(page.get_by_text("In the book: 2 wheels.")).to_be_visible()
    expect(page.get_by_text("MISTAKE-2").first).to_be_visible()
    picture(page, "wheels-brought-in")
    page.locator(".note").get_by_role("button", name="Undo").click()
    expect(page.get_by_text("Taken back:")).to_be_visible()
    assert serious(page) == []
    page.goto("/round")
    expect(page.get_by_text("MISTAKE-2")).to_have_count(0)
