"""The parts that pages are put together from, on a page of the tests' own."""

import asyncio
import threading
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
import uvicorn
from playwright.sync_api import Page, expect

from collector.prepare import prepare
from collector.settings import Settings
from dashboard.app import create_app
from dashboard.pages import PAGES
from dashboard.serving import Server
from dashboard.settings import DashboardSettings
from tests.browser.walking import HOST, flaws, picture, serious

pytestmark = pytest.mark.browser


@pytest.fixture
def house(tmp_path: Path) -> Iterator[tuple[str, Server]]:
    """An application with the sample page in it, on a port of its own; whoever comes from here is the owner."""
    settings = Settings(data=tmp_path)
    prepare(settings)
    own = DashboardSettings(sign_in="open-on-loopback", trusted_hosts=HOST)
    app = create_app(settings, own, page_names=(*PAGES, "tests.browser.sample_page"))
    server = Server(uvicorn.Config(app, port=0, log_config=None, ws="none"))
    thread = threading.Thread(target=lambda: asyncio.run(server.serve()))
    thread.start()
    while not server.started:
        assert thread.is_alive()
        threading.Event().wait(0.01)
    port = server.servers[0].sockets[0].getsockname()[1]
    yield f"http://127.0.0.1:{port}", server
    server.should_exit = True
    thread.join()


@pytest.fixture
def sample(phone: Callable[..., Page], house: tuple[str, Server]) -> Callable[..., Page]:
    def open_sample(dark: bool = False) -> Page:
        page = phone(house[0], dark=dark)
        page.goto("/sample")
        return page

    return open_sample


def test_every_part_is_drawn_and_axe_is_content(sample: Callable[..., Page]) -> None:
    page = sample()
    expect(page.locator(".plot[data-drawn]")).to_have_count(2)
    assert flaws(page, "parts", again=".plot[data-drawn]") == []


def test_a_chart_offers_nothing_that_leaves_the_house(sample: Callable[..., Page]) -> None:
    page = sample()
    expect(page.locator(".plot[data-drawn]")).to_have_count(2)
    assert page.locator(".modebar-btn").count() > 2
    assert page.locator('.modebar-btn[data-title*="hare"], a[href^="http"]').count() == 0
    assert page.evaluate("performance.getEntriesByType('resource').every((e) => e.name.startsWith(location.origin))")


def test_a_refused_form_keeps_what_was_typed(sample: Callable[..., Page]) -> None:
    page = sample()
    page.get_by_label("Weight").fill("about two pounds")
    page.get_by_label("Words").fill("a soft spot")
    page.get_by_role("button", name="Keep").click()
    expect(page.get_by_label("Weight")).to_have_value("about two pounds")
    expect(page.get_by_label("Words")).to_have_value("a soft spot")
    expect(page.locator("#weight-error")).to_have_text("Give grams, like 640.")
    page.wait_for_load_state("networkidle")
    picture(page, "parts-refused-light")
    assert serious(page) == []


def test_a_note_is_shown_once_and_offers_to_undo(sample: Callable[..., Page]) -> None:
    page = sample()
    page.get_by_label("Weight").fill("640")
    page.get_by_role("button", name="Keep").click()
    expect(page.get_by_text("Kept: 640 g")).to_be_visible()
    page.get_by_role("button", name="Undo").click()
    expect(page.get_by_text("Taken back.")).to_be_visible()
    page.reload()
    expect(page.get_by_text("Taken back.")).to_have_count(0)


def test_the_second_touch_confirms(sample: Callable[..., Page]) -> None:
    page = sample()
    expect(page.get_by_text("It stays in the book.")).to_be_hidden()
    page.get_by_text("Throw away").click()
    page.get_by_role("button", name="Yes, throw it away").click()
    expect(page.get_by_text("Taken back.")).to_be_visible()


def test_a_part_asks_for_itself_again_and_tells_when_nobody_answers(
    phone: Callable[..., Page], house: tuple[str, Server]
) -> None:
    address, _server = house
    page = phone(address, forgiven="net::ERR_FAILED")  # the browser's own word for a request that we cut off
    page.clock.install()
    page.goto("/sample")
    with page.expect_response("**/sample/part") as first:
        page.clock.fast_forward(30_000)
    assert first.value.status == 200
    expect(page.locator("#count")).not_to_have_text("0")
    expect(page.locator(".as-of").first).to_contain_text("as of 09:00")
    with page.expect_response("**/sample/part"):
        page.clock.fast_forward(30_000)
    with page.expect_response("**/sample/part") as unchanged:
        page.clock.fast_forward(30_000)
    assert unchanged.value.status == 304
    page.route("**/sample/part", lambda route: route.abort())
    page.clock.fast_forward(30_000)
    expect(page.get_by_text("No answer from the house")).to_be_visible()
    page.unroute("**/sample/part")
    page.clock.fast_forward(30_000)
    expect(page.get_by_text("No answer from the house")).to_be_hidden()
