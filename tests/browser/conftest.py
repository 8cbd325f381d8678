"""A real browser on a real server: a phone's window, the house's name, http and https with an authority it trusts."""

import os
import re
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, ConsoleMessage, Page, Playwright, sync_playwright

from collector.clock import SystemClock
from collector.prepare import prepare
from collector.settings import Settings
from dashboard.https import kept
from dashboard.https.making import make
from dashboard.static_files import BASIC_BUNDLE
from tests.browser.walking import HOST, PHONE, Served, serving, set_password, sign_in, trust

# Answers that tell a person to do something else are no complaint of the page.
TOLD = re.compile(r"responded with a status of (410|422|429)")
NOTHING = re.compile("(?!)")
# The whole chart library reports one refused style of its map part, which no chart of ours uses; the small bundle none.
LIBRARY = NOTHING if BASIC_BUNDLE.exists() else re.compile(r"inline style violates.*/plotly\.min\.js$", re.DOTALL)


@pytest.fixture(scope="session")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """The real process on free ports, with a certificate for the house's name."""
    settings = Settings(data=tmp_path_factory.mktemp("house"))
    prepare(settings)
    make(settings, [HOST], [], SystemClock().now())
    yield from serving(settings)


@pytest.fixture(scope="session")
def playwright() -> Iterator[Playwright]:
    with sync_playwright() as running:
        yield running


@pytest.fixture(scope="session")
def browser(
    playwright: Playwright, chromium: Path, served: Served, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[Browser]:
    """The browser, which knows the house's name and trusts its authority, as a phone does after set-up."""
    home = tmp_path_factory.mktemp("home")
    trust(home, kept.places(served.settings).authority)
    running = playwright.chromium.launch(
        executable_path=str(chromium), env={**os.environ, "HOME": str(home)},
        args=["--no-sandbox", "--disable-gpu", "--disable-background-networking",
              f"--host-resolver-rules=MAP {HOST} 127.0.0.1"],
    )  # fmt: skip
    yield running
    running.close()


@pytest.fixture
def phone(browser: Browser) -> Iterator[Callable[..., Page]]:
    """Opens a phone's window; at the end no page of it may have complained."""
    contexts: list[BrowserContext] = []
    complaints: list[str] = []

    def listen(message: ConsoleMessage, forgiven: str) -> None:
        said = f"{message.text} at {message.location.get('url')}"
        known = (LIBRARY, TOLD, re.compile(forgiven) if forgiven else NOTHING)
        if message.type == "error" and not any(pattern.search(said) for pattern in known):
            complaints.append(said)

    def open_page(address: str, dark: bool = False, forgiven: str = "", **options: object) -> Page:
        context = browser.new_context(
            base_url=address, viewport=PHONE, device_scale_factor=2, has_touch=True, is_mobile=True,
            color_scheme="dark" if dark else "light", locale="en-GB", timezone_id="Pacific/Auckland", **options,
        )  # fmt: skip
        contexts.append(context)
        page = context.new_page()
        page.on("console", lambda message: listen(message, forgiven))
        page.on("pageerror", lambda error: complaints.append(str(error)))
        page.set_default_timeout(10_000)
        return page

    yield open_page
    for context in contexts:
        context.close()
    assert complaints == []


@pytest.fixture(scope="session")
def owner_state(browser: Browser, served: Served) -> dict[str, object]:
    """Cookies of an owner who set a password by the one-time link and left the first steps, at both addresses."""
    link = served.one_time_link()
    cookies: list[object] = []
    for address in (served.http, served.https):
        context = browser.new_context(base_url=address, viewport=PHONE)
        page = context.new_page()
        if address == served.http:
            set_password(page, link)
            page.get_by_role("button", name="That is enough for now").click()
        else:
            sign_in(page)
        cookies += context.storage_state()["cookies"]
        context.close()
    return {"cookies": cookies, "origins": []}


@pytest.fixture
def owner(phone: Callable[..., Page], served: Served, owner_state: dict[str, object]) -> Callable[..., Page]:
    """Opens a phone's window in which the owner is signed in: owner(dark=True, https=False)."""
    return lambda dark=False, https=True: phone(
        served.https if https else served.http, dark=dark, storage_state=owner_state
    )
