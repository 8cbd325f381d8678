"""The round's pages as a phone shows them: nothing serious for axe, large enough for wet thumbs, nothing too wide."""

from collections.abc import Callable

import pytest
from playwright.sync_api import Page

from tests.browser.rounds.conftest import CellarHouse
from tests.browser.walking import picture, serious

pytestmark = pytest.mark.browser
THEMES = pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
PATHS = {
    "round": "/round", "at": "/at/{wheel}", "gears": "/gear", "gear": "/gear/{brine}", "order": "/round/order",
    "order-shelf": "/round/order/{shelf}", "paper": "/round/paper", "key-in": "/round/paper/key-in",
    "add": "/wheels/add", "waiting": "/waiting", "entered": "/round/entered", "care-plans": "/care-plans",
    "care-plan": "/care-plans/new:tomme", "correct": "/correct/any",
}  # fmt: skip


def path_of(name: str, house: CellarHouse) -> str:
    cellar = house.cellar
    return PATHS[name].format(wheel=cellar.wheels["24-01"], brine=cellar.brine, shelf=cellar.shelves[0])


@THEMES
@pytest.mark.parametrize("name", PATHS)
def test_axe_finds_nothing_serious(
    keeper: Callable[..., Page], cellar_house: CellarHouse, name: str, dark: bool
) -> None:
    page = keeper(dark=dark)
    page.goto(path_of(name, cellar_house))
    page.wait_for_load_state("networkidle")
    picture(page, f"round-{name}-{'dark' if dark else 'light'}")
    assert serious(page) == []


@pytest.mark.parametrize("name", ["round", "at", "gear", "order-shelf", "key-in", "entered", "care-plan"])
def test_everything_to_touch_on_the_round_is_large_enough_for_a_wet_thumb(
    keeper: Callable[..., Page], cellar_house: CellarHouse, name: str
) -> None:
    page = keeper()
    page.goto(path_of(name, cellar_house))
    page.wait_for_load_state("networkidle")
    low = page.evaluate(
        """() => [...document.querySelectorAll("main :is(a, button, input:not([type=hidden]), select, summary)")]
        .filter((e) => e.checkVisibility() && !e.closest("p, .hint") && !e.matches(".unseen"))
        .map((e) => e.closest("label") ?? e)
        .filter((e) => e.getBoundingClientRect().height < 56)
        .map((e) => e.outerHTML.slice(0, 120))"""
    )
    assert low == []
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
