"""Leaving the cheeses to somebody else, walked on two phones: the plan, the link, the sheet, who is told first."""

from collections.abc import Callable, Iterator
from datetime import timedelta

import pytest
from playwright.sync_api import Page, expect
from sqlalchemy import delete, select

from collector.clock import SystemClock
from collector.notify.away import keep_away
from collector.notify.wishes import DUTY_KEY
from collector.records.engine import open_records
from collector.records.tables import metadata, notify_channel, person, place, setting
from dashboard.wheels.bodies.doings import Care
from dashboard.wheels.refresh import rebuild
from dashboard.wheels.tables import entry
from tests.browser.walking import PASSWORD, Served, picture, serious
from tests.collector.notify.servers import web_server
from tests.dashboard.book_kept import a_style, a_wheel, enter
from tests.dashboard.dairy import a_place

pytestmark = pytest.mark.browser


@pytest.fixture(autouse=True)
def nothing_left(served: Served) -> Iterator[None]:
    yield
    engine = open_records(served.settings.records_at)
    with engine.begin() as db:
        keep_away(db, None)
        db.execute(delete(notify_channel))
        db.execute(delete(setting).where(setting.c.key.in_((DUTY_KEY, "first_start.later.heartbeat"))))
        owners = select(person.c.id).where(person.c.role == "owner")
        for table in metadata.sorted_tables:
            if "person_id" in table.c:
                db.execute(delete(table).where(table.c.person_id.not_in(owners)))
        db.execute(delete(person).where(person.c.role != "owner"))
    engine.dispose()


@pytest.fixture
def shelf(served: Served) -> Iterator[None]:
    """Two wheels on a board, gone again afterwards: other tests look at the same house."""
    engine, now_at = open_records(served.settings.records_at), SystemClock().now()
    with engine.begin() as db:
        place_id, style_id = a_place(db, "Upper board"), a_style(db, now_at=now_at)
        for code in ("W1", "W2"):
            wheel_id = a_wheel(db, code, 20, place_id, style_id=style_id, now_at=now_at)
            enter(db, Care(care="turned"), 1, now_at=now_at, wheel_id=wheel_id)
        before = select(entry.c.id).where(entry.c.received_at < now_at)
    yield
    with engine.begin() as db:
        db.execute(delete(entry).where(entry.c.id.not_in(before)))
        rebuild(db)
        db.execute(delete(place).where(place.c.id == place_id))
    engine.dispose()


def looked_at(page: Page, name: str, dark: Page) -> None:
    """Nothing serious on the page, nothing wider than the phone, and pictures in light and dark."""
    picture(page, name)
    assert serious(page) == []
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    dark.goto(page.url)
    picture(dark, f"{name}-dark")


def test_somebody_else_looks_after_the_cheeses(
    owner: Callable[..., Page], phone: Callable[..., Page], served: Served, shelf: None
) -> None:
    page, dark = owner(), owner(dark=True)
    page.goto("/more")
    page.get_by_role("link", name="Away").click()
    page.get_by_label("Last day").fill((SystemClock().now() + timedelta(days=3)).date().isoformat())
    page.get_by_label("Name, if somebody new").fill("Neighbour")
    page.get_by_label("Whom to call").fill("Me: 000 123")
    looked_at(page, "away-plan", dark)
    page.get_by_role("button", name="Keep it").click()
    expect(page.get_by_text("Neighbour is on duty for Keeper")).to_be_visible()
    expect(page.get_by_text("Neighbour has no way to be told yet")).to_be_visible()
    looked_at(page, "away-kept", dark)
    assert serious(dark) == []
    page.get_by_role("link", name="The sheet to print").click()
    expect(page.get_by_text("Me: 000 123")).to_be_visible()
    expect(page.get_by_role("heading", name="Upper board").first).to_be_visible()
    looked_at(page, "away-sheet", dark)
    page.goto("/away")
    page.get_by_role("button", name="A one-time link for Neighbour").click()
    picture(page, "away-link")
    assert serious(page) == []
    link = page.locator("code", has_text="/first/").inner_text()
    theirs = phone(served.https)
    theirs.goto("/first/" + link.partition("/first/")[2])
    theirs.get_by_label("Password", exact=True).fill(PASSWORD)
    theirs.get_by_label("The same once more").fill(PASSWORD)
    theirs.get_by_role("button", name="Keep it").click()
    theirs.goto("/away")
    expect(theirs.get_by_text("Neighbour is on duty for Keeper")).to_be_visible()
    expect(theirs.get_by_role("button", name="Keep it")).to_have_count(0)
    page.goto("/away")
    page.get_by_text("Back already").click()
    page.get_by_role("button", name="I am back").click()
    expect(page.get_by_text("Welcome back.")).to_be_visible()
    theirs.goto("/away")
    expect(theirs.get_by_role("button", name="Sign in")).to_be_visible()


def test_who_is_told_first_is_put_in_order(owner: Callable[..., Page], served: Served) -> None:
    engine = open_records(served.settings.records_at)
    with engine.begin() as db:
        row = {"id": "neighbour", "name": "Neighbour", "role": "helper", "created_at": SystemClock().now()}
        db.execute(person.insert().values(**row))
    engine.dispose()
    page, dark = owner(), owner(dark=True)
    page.goto("/settings/warnings")
    page.get_by_role("link", name="Who is told first").click()
    for name in ("Keeper", "Neighbour"):
        page.get_by_role("button", name=f"Put {name} in").click()
    page.get_by_role("button", name="Neighbour one up").click()
    expect(page.locator(".order > li").first).to_contain_text("Neighbour")
    looked_at(page, "warnings-duty", dark)
    assert serious(dark) == []


def test_the_first_steps_ask_who_notices_a_dead_machine(owner: Callable[..., Page]) -> None:
    page, dark = owner(), owner(dark=True)
    page.goto("/begin")
    page.get_by_role("button", name="Later").click()
    expect(page.get_by_text("put off", exact=True)).to_be_visible()
    looked_at(page, "begin-dead-machine", dark)
    page.get_by_role("link", name="Name a service").click()
    with web_server() as server:
        page.get_by_label("Address to call").fill(f"http://127.0.0.1:{server.port}/beat")
        page.get_by_role("button", name="Keep it").click()
        expect(page.get_by_text("is kept, and it answered a first call.")).to_be_visible()
        assert [request.path for request in server.requests] == ["/beat"]
    page.goto("/begin")
    expect(page.locator(".steps > li", has_text="this machine itself is dead").get_by_text("done")).to_be_visible()
