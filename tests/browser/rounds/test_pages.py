"""The round's pages as a phone shows them: nothing serious for axe, large enough for wet thumbs, nothing too wide."""

from collections.abc import Callable

import pytest
from playwright.sync_api import Page

from tests.browser.rounds.conftest import CellarHouse
from tests.browser.walking import THUMB_PX, flaws

pytestmark = pytest.mark.browser
WET_THUMB_PX = 56
IN_THE_CELLAR = {"round", "at", "gear", "order-shelf", "key-in", "entered", "care-plan"}
PATHS = {
    "round": "/round", "at": "/at/{wheel}", "gears": "/gear", "gear": "/gear/{brine}", "order": "/round/order",
    "order-shelf": "/round/order/{shelf}", "paper": "/round/paper", "key-in": "/round/paper/key-in",
    "add": "/wheels/add", "waiting": "/waiting", "entered": "/round/entered", "care-plans": "/care-plans",
    "care-plan": "/care-plans/new:tomme", "correct": "/correct/any",
}  # fmt: skip


def path_of(name: str, house: CellarHouse) -> str:
    cellar = house.cellar
    return PATHS[name].format(wheel=cellar.wheels["24-01"], brine=cellar.brine, shelf=cellar.shelves[0])


@pytest.mark.parametrize("name", PATHS)
def test_it_can_be_read_in_light_and_dark_and_touched(
    keeper: Callable[..., Page], cellar_house: CellarHouse, name: str
) -> None:
    page = keeper()
    page.goto(path_of(name, cellar_house))
    page.wait_for_load_state("networkidle")
    assert flaws(page, f"round-{name}", WET_THUMB_PX if name in IN_THE_CELLAR else THUMB_PX) == []
