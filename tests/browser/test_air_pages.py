"""Warnings, probes, typed readings, places, targets and airing on a phone."""

import re
from collections.abc import Callable, Iterator

import pytest
from playwright.sync_api import Browser, Page, expect

from collector.clock import SystemClock
from collector.prepare import prepare
from collector.settings import Settings
from dashboard.https.making import make
from tests.browser.lived_in import House, live_in
from tests.browser.walking import HOST, PHONE, Served, flaws, serving, set_password

pytestmark = pytest.mark.browser
PATHS = (
    "/warnings", "/warnings/{warning}", "/probes", "/probes/cellar-front", "/probes/shed/air",
    "/probes/shed/air?do=place", "/probes/shed/air?do=time", "/probes/shed/air?do=field&field=/air/temperature",
    "/probes/cellar-front?do=sensor", "/probes/cellar-front?do=pace", "/probes/cellar-front?do=name",
    "/probes/connect", "/probes/connect?name=shed-back", "/probes/topics", "/readings/type?place={cave}", "/targets",
    "/targets/{cave}?preset=washed", "/places/new", "/places/{cave}", "/airing", "/airing?want=drier",
)  # fmt: skip


@pytest.fixture(scope="module")
def house(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Served, House]]:
    """A house of its own, so that what is changed here meets no other test."""
    settings = Settings(data=tmp_path_factory.mktemp("lived-in"))
    prepare(settings)
    make(settings, [HOST], [], SystemClock().now())
    lived = live_in(settings)
    running = serving(settings)
    yield next(running), lived
    for _ended in running:
        raise AssertionError("the server was to end")


@pytest.fixture(scope="module")
def state(browser: Browser, house: tuple[Served, House]) -> object:
    context = browser.new_context(base_url=house[0].http, viewport=PHONE)
    page = context.new_page()
    set_password(page, house[0].one_time_link())
    page.wait_for_url("**/begin")
    page.get_by_role("button", name="That is enough for now").click()
    kept = context.storage_state()
    context.close()
    return kept


@pytest.fixture
def keeper(phone: Callable[..., Page], house: tuple[Served, House], state: object) -> Callable[..., Page]:
    """Opens a phone's window in which the keeper is signed in."""
    return lambda dark=False, forgiven="": phone(house[0].http, dark=dark, forgiven=forgiven, storage_state=state)


def filled(path: str, lived: House) -> str:
    return path.format(cave=lived.cave_id, warning=lived.warning_id)


@pytest.mark.parametrize("path", PATHS)
def test_it_can_be_read_in_light_and_dark_and_touched(
    keeper: Callable[..., Page], house: tuple[Served, House], path: str
) -> None:
    page = keeper()
    page.goto(filled(path, house[1]))
    expect(page.locator("h1")).to_be_visible()
    assert flaws(page, f"air-{re.sub(r'[^a-z0-9]+', '-', path.lower()).strip('-')}") == []


def test_every_page_can_be_walked_by_keyboard(keeper: Callable[..., Page], house: tuple[Served, House]) -> None:
    """From the address on, Tab reaches each thing to touch, and what has the focus can be seen."""
    for path in ("/warnings", "/probes/shed/air", "/targets/{cave}", "/readings/type?place={cave}", "/airing"):
        page = keeper()
        page.goto(filled(path, house[1]))
        wanted = page.evaluate(
            """() => [...document.querySelectorAll("main a, main button, main input, main select, main summary")]
            .filter((e) => e.type !== "hidden" && e.checkVisibility() && !(e.type === "radio" && !e.checked)).length"""
        )
        reached = set()
        for _ in range(2 * wanted + 20):
            page.keyboard.press("Tab")
            reached.add(page.evaluate(
                """() => { const e = document.activeElement;
                if (!e || !e.closest("main") || !e.matches("a, button, input, select, summary")) return "";
                const outline = getComputedStyle(e).outlineStyle;
                if (outline === "none") throw new Error("the focus cannot be seen: " + e.outerHTML.slice(0, 100));
                return [...document.querySelectorAll("*")].indexOf(e).toString(); }"""
            ))  # fmt: skip
        assert len(reached - {""}) >= wanted, path


def test_a_warning_is_judged_in_one_touch(keeper: Callable[..., Page], house: tuple[Served, House]) -> None:
    page = keeper()
    page.goto("/warnings")
    card = page.locator(f"#w-{house[1].warning_id}")
    expect(card).to_contain_text("Upper cellar: too dry")
    card.get_by_role("button", name="False alarm").click()
    expect(page.get_by_role("status").filter(has_text="Noted: a false alarm.")).to_be_visible()
    expect(card).to_contain_text("Keeper: a false alarm")
    card.get_by_role("button", name="Right").click()
    expect(card).to_contain_text("Keeper: it was right")


def test_a_probe_is_placed_in_one_touch_and_its_unit_corrected(keeper: Callable[..., Page]) -> None:
    page = keeper()
    page.goto("/probes")
    page.get_by_role("link", name="shed/air").first.click()
    expect(page.get_by_text("Temperature 54.1 °C")).to_be_visible()
    page.get_by_role("button", name="Upper cellar", exact=True).click()
    expect(page.get_by_text("It measures in Upper cellar.")).to_be_visible()
    page.get_by_role("link", name="Correct").first.click()
    page.get_by_label("What it is").select_option("temperature|degF")
    page.get_by_text("From its first reading").click()
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_text("Temperature 12.3 °C")).to_be_visible()
    page.get_by_role("link", name="Where its time stands").click()
    page.get_by_text("/made: 1772431200").click()
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_text("Its time is read from /made.")).to_be_visible()
    page.locator("summary", has_text="Take it away").click()
    page.get_by_role("button", name="Take it away").click()
    expect(page.get_by_text("It hangs in no place.")).to_be_visible()


def test_a_reading_is_typed_and_a_wrong_one_keeps_its_text(
    keeper: Callable[..., Page], house: tuple[Served, House]
) -> None:
    page = keeper()
    page.goto(f"/readings/type?place={house[1].cave_id}&back=/more")
    page.get_by_label("Temperature").fill("54")
    page.get_by_label("Read from").fill("dial on the wall")
    page.get_by_role("button", name="Keep it").click()
    expect(page.locator("#temperature-error")).to_contain_text("must be at most 50 °C")
    expect(page.get_by_label("Temperature")).to_have_value("54")
    page.get_by_label("Temperature").fill("54F")
    page.get_by_role("button", name="Keep it").click()
    page.wait_for_url("**/more")
    expect(page.get_by_text("Kept: 12.2 °C in Upper cellar.")).to_be_visible()


def test_a_target_is_tried_and_then_changed(keeper: Callable[..., Page], house: tuple[Served, House]) -> None:
    page = keeper()
    page.goto(f"/targets/{house[1].cave_id}")
    page.get_by_label("Humidity from").fill("89")
    page.get_by_role("button", name="Try it on the last 30 days").click()
    expect(page.get_by_role("heading", name="In the last 30 days")).to_be_visible()
    expect(page.get_by_label("Humidity from")).to_have_value("89")
    expect(page.get_by_text("narrower than an unchecked probe")).to_be_visible()
    page.get_by_label("Humidity from").fill("80")
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_role("status").filter(has_text="10.0 to 13.0 °C, 80 to 92 %")).to_be_visible()


def test_airing_answers_for_an_air_that_is_typed(keeper: Callable[..., Page]) -> None:
    page = keeper()
    page.goto("/airing")
    expect(page.get_by_text("Measured at north wall")).to_be_visible()
    page.get_by_label("Air at the door").fill("27")
    page.get_by_label("Its humidity").fill("70")
    page.get_by_role("button", name="Look").click()
    expect(page.get_by_text("Water would come down on the wheels").first).to_be_visible()


def test_the_core_works_without_script(browser: Browser, house: tuple[Served, House], state: object) -> None:
    context = browser.new_context(base_url=house[0].http, java_script_enabled=False, storage_state=state)
    page = context.new_page()
    page.goto("/warnings")
    page.get_by_role("button", name="Seen").first.click()
    expect(page.get_by_text("Marked as seen.")).to_be_visible()
    page.goto("/probes/connect")
    page.get_by_label("Name of the probe").fill("no/such")
    page.get_by_role("button", name="Go on").click()
    expect(page.locator("#name-error")).to_contain_text("must not have / + or #")
    page.get_by_label("Name of the probe").fill("shed-back")
    page.get_by_role("button", name="Go on").click()
    expect(page.get_by_text("rindwatch/shed-back/readings")).to_be_visible()
    page.get_by_text("Show the password").click()
    page.get_by_role("link", name="Look again").click()
    expect(page.get_by_text("Waiting for the first message of shed-back")).to_be_visible()
    page.goto("/targets")
    page.get_by_role("button", name="Upper cellar further down").click()
    expect(page.get_by_role("heading", name="Places and targets")).to_be_visible()
    context.close()
