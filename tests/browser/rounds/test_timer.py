"""The timer to the next step of a make rings, survives a reload, and says when it was due while no page was open."""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta

import pytest
from playwright.sync_api import Page, expect

from collector.records.columns import new_id
from collector.records.engine import open_records
from dashboard.wheels.entries import put_all
from tests.browser.rounds.cellar import entry
from tests.browser.rounds.conftest import CellarHouse
from tests.browser.rounds.thumb import all_sent, book, kept, listen, until
from tests.browser.walking import picture, serious

pytestmark = pytest.mark.browser

# Counts the tones that the browser was really asked to play, and the times that it was asked to shake.
HEARD = """
window.tones = 0;
window.shakes = 0;
const start = OscillatorNode.prototype.start;
OscillatorNode.prototype.start = function (...more) {
  window.tones += this.context.state === "running";
  start.apply(this, more);
};
navigator.vibrate = () => { window.shakes++; return true; };
"""


@pytest.fixture
def make(cellar_house: CellarHouse) -> str:
    """A make of this morning in the book."""
    make_id, now_at = new_id(), datetime.now(UTC)
    engine = open_records(cellar_house.served.settings.records_at)
    with engine.begin() as db:
        sheet = {"kind": "make", "code": "26-11", "made_on": f"{now_at:%Y-%m-%d}"}
        put_all(db, [entry(sheet, 0.01, now_at, make_id=make_id)], received_at=now_at)
    engine.dispose()
    return make_id


def opened(keeper: Callable[..., Page], make: str, **how: bool) -> Page:
    page = keeper(**how)
    page.clock.install()
    page.add_init_script(HEARD)
    listen(page)
    page.goto(f"/makes/{make}/sheet")
    return page


@pytest.mark.parametrize("https", [True, False], ids=["https", "http"])
def test_a_timer_counts_down_rings_after_a_reload_and_is_stopped(
    keeper: Callable[..., Page], cellar_house: CellarHouse, make: str, https: bool
) -> None:
    page, settings = opened(keeper, make, https=https), cellar_house.served.settings
    page.get_by_label("What comes next").fill("Cut the curd")
    with kept(page):
        page.get_by_role("button", name="10 min").tap()
    sheet = book(settings, kind="make", make_id=make)[-1]["body"]
    assert sheet["next_step"] == "Cut the curd"
    due_at = datetime.fromisoformat(sheet["next_at"])
    assert timedelta(minutes=9) < due_at - datetime.now(UTC) < timedelta(minutes=11)
    page.goto("/round")
    timers = page.locator("#timers")
    expect(timers).to_contain_text("Cut the curd in 9:")
    page.clock.fast_forward("05:00")
    expect(timers).to_contain_text("Cut the curd in 4:")
    assert page.evaluate("[window.tones, document.title.includes('now!')]") == [0, False]
    page.get_by_role("heading", name="Round", exact=True).tap()  # any touch opens the sound
    page.clock.fast_forward("05:00")
    expect(timers.get_by_role("alert")).to_contain_text("Cut the curd: now")
    until(lambda: page.evaluate("window.tones > 2 && window.shakes > 0"), "it does not ring")
    until(lambda: "Cut the curd: now!" in page.title(), "the title does not say it")
    if https:
        assert serious(page) == []
    timers.get_by_role("button", name="Stop: Cut the curd").tap()
    expect(timers).to_be_hidden()
    page.clock.fast_forward("00:05")
    assert "now!" not in page.title()
    all_sent(page)
    assert book(settings, kind="make", make_id=make)[-1]["body"] == {"kind": "make", "next_step": "", "next_at": None}


def test_a_timer_that_ran_out_while_no_page_was_open_says_when_it_was_due(
    keeper: Callable[..., Page], make: str
) -> None:
    page = opened(keeper, make)
    page.get_by_label("What comes next").fill("Turn in the hoop")
    page.get_by_label("Another time, in minutes").fill("1 h 30")
    with kept(page):
        page.locator("form[data-timer]").get_by_role("button", name="Start").last.tap()
    expect(page.locator("#timers")).to_contain_text("Turn in the hoop in 1 h 29 min")
    context = page.context
    page.close()
    later = context.new_page()
    later.clock.install(time=datetime.now(UTC) + timedelta(hours=2))
    later.goto(f"/makes/{make}")
    expect(later.locator("#timers").get_by_role("alert")).to_contain_text("it was due at")
    expect(later.locator("#timers")).to_contain_text("30 min ago, while no page was open.")
    picture(later, "timer-due")


def test_a_timer_of_another_phone_rings_here_when_its_make_is_opened(keeper: Callable[..., Page], make: str) -> None:
    page = opened(keeper, make)
    page.get_by_label("What comes next").fill("Drain the whey")
    with kept(page):
        page.get_by_role("button", name="30 min").tap()
    page.get_by_role("button", name="Rennet in").tap()  # what the sheet keeps next must not stop it
    expect(page.locator("#timers")).to_contain_text("Drain the whey in 29:")
    other = opened(keeper, make)
    expect(other.locator("#timers")).to_contain_text("Drain the whey in")
    picture(other, "timer-sheet")
