"""How browser tests start a server, sign in, and look at a page."""

import os
import re
import signal
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

from collector.clock import SystemClock
from collector.records.engine import open_records
from collector.settings import Settings
from dashboard.people.links import issue_link

HOST = "cave.home.arpa"
PHONE = {"width": 390, "height": 844}
PASSWORD = "four plain words here"
WAIT_S = 20
RULES = ("wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa")
THUMB_PX = 48
SCREENSHOTS = Path(__file__).parent / "screenshots"


@dataclass(frozen=True, slots=True)
class Served:
    """A running dashboard: its addresses by the house's name, and its data."""

    http: str
    https: str
    settings: Settings
    process: subprocess.Popen[str]

    def one_time_link(self) -> str:
        engine = open_records(self.settings.records_at)
        path = issue_link(engine, SystemClock())
        engine.dispose()
        return path


def serving(settings: Settings, **more: str) -> Iterator[Served]:
    environment = os.environ | {
        "RINDWATCH_DATA": str(settings.data), "RINDWATCH_LISTEN": "127.0.0.1", "RINDWATCH_HTTP_PORT": "0",
        "RINDWATCH_HTTPS_PORT": "0", "RINDWATCH_TRUSTED_HOSTS": HOST, **more,
    }  # fmt: skip
    command = [sys.executable, "-m", "dashboard"]
    with subprocess.Popen(command, env=environment, stdout=subprocess.PIPE, text=True) as process:
        try:
            http = _line(process, r"The pages are at http://127\.0\.0\.1:(\d+)")
            https = _line(process, r"over https at https://\S+:(\d+)")
            yield Served(f"http://{HOST}:{http}", f"https://{HOST}:{https}", settings, process)
        finally:
            process.send_signal(signal.SIGTERM)
            assert process.wait(WAIT_S) == 0


def _line(process: subprocess.Popen[str], pattern: str) -> str:
    assert process.stdout is not None
    for line in process.stdout:
        if found := re.search(pattern, line):
            return found[1]
    raise AssertionError(f"the server ended with {process.wait()} before it said {pattern}")


def trust(home: Path, authority: Path) -> None:
    """Put an authority where the browser looks for those that a person trusts."""
    store = home / ".pki" / "nssdb"
    store.mkdir(parents=True)
    database = f"sql:{store}"
    subprocess.run(["certutil", "-N", "-d", database, "--empty-password"], check=True)
    subprocess.run(["certutil", "-A", "-d", database, "-n", "house", "-t", "C,,", "-i", str(authority)], check=True)


def set_password(page: Page, link: str) -> None:
    page.goto(link)
    page.get_by_label("Your name").fill("Keeper")
    page.get_by_label("Password", exact=True).fill(PASSWORD)
    page.get_by_label("The same once more").fill(PASSWORD)
    page.get_by_role("button", name="Keep it").click()


def sign_in(page: Page) -> None:
    page.goto("/sign-in")
    page.get_by_label("Name").fill("Keeper")
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    page.wait_for_url(lambda url: "sign-in" not in url)


def serious(page: Page, only: tuple[str, ...] = RULES) -> list[str]:
    """What axe calls serious or critical on a page, one line each; colours that are on their way have come to rest."""
    page.evaluate("() => Promise.allSettled(document.getAnimations().map((one) => one.finished))")
    found = Axe().run(page, options={"runOnly": list(only)})
    return [
        f"{problem['id']}: {problem['help']}: {problem['nodes'][0]['html'][:200]}"
        for problem in found.response["violations"]
        if problem["impact"] in {"serious", "critical"}
    ]


def flaws(page: Page, name: str, thumb_px: int = THUMB_PX, again: str = "") -> list[str]:
    """What is wrong with the page that is open, in light and in dark; a picture of each is kept.

    Nothing but colours differs in the dark, so only they are judged twice.

    Args:
        page: it has been opened in light.
        name: of the pictures.
        thumb_px: how high a thing to touch must be, outside the frame that all pages share.
        again: what to wait for after opening it anew in the dark, for pages whose script draws in colours.
    """
    picture(page, f"{name}-light")
    found = serious(page) + too_wide(page) + low(page, THUMB_PX) + low(page, thumb_px, "main *")
    page.emulate_media(color_scheme="dark")
    if again:
        page.reload()
        page.locator(again).first.wait_for()
    page.evaluate("async () => { await Promise.allSettled(document.getAnimations().map((one) => one.finished)) }")
    picture(page, f"{name}-dark")
    return found + [f"in the dark: {flaw}" for flaw in serious(page, ("color-contrast",))]


def too_wide(page: Page) -> list[str]:
    """Whether the page must be pushed sideways, in a line."""
    width = page.evaluate("document.documentElement.scrollWidth")
    return [f"{width} pixels wide"] if width > PHONE["width"] else []


def low(page: Page, thumb_px: int, where: str = "*") -> list[str]:
    """Things to touch that are lower than so much, one line each; links within a sentence are not meant."""
    found: list[str] = page.evaluate(
        """([least, where]) => [...document.querySelectorAll("a, button, input:not([type=hidden]), select, summary")]
        .filter((e) => e.matches(where) && e.checkVisibility() && !e.matches(".unseen"))
        .filter((e) => !e.closest("p, dd, .hint, .skip, .plot"))
        .map((e) => e.closest("label") ?? e)
        .filter((e) => e.getBoundingClientRect().height < least)
        .map((e) => `lower than ${least}: ${e.outerHTML.slice(0, 120)}`)""",
        [thumb_px, where],
    )
    return found


def picture(page: Page, name: str) -> None:
    """Keep a picture of the whole page, its navigation at the end, if somebody wants to look at it."""
    if not os.environ.get("RINDWATCH_TEST_PICTURES"):
        return
    SCREENSHOTS.mkdir(exist_ok=True)
    height = max(PHONE["height"], int(page.evaluate("document.documentElement.scrollHeight")))
    page.set_viewport_size({"width": PHONE["width"], "height": height})
    page.screenshot(path=SCREENSHOTS / f"{name}.png")
    page.set_viewport_size(PHONE)
