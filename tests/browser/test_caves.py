"""The caves on a phone: the glance, one cave over time, its picture and table, its cooler."""

import asyncio
import re
import threading
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np
import pytest
import uvicorn
from playwright.sync_api import Page, expect
from sqlalchemy import Connection, insert

from collector.prepare import prepare
from collector.readings import packs
from collector.readings.model import Arrival, Sample
from collector.readings.rollups import follow
from collector.readings.store import SqliteReadings
from collector.records.columns import new_id, to_ms
from collector.records.engine import open_records
from collector.records.facts import Place, Placement, Target
from collector.records.life import sign
from collector.records.places import add_fact, add_place
from collector.records.tables import setting, warning
from collector.settings import Settings
from dashboard.app import create_app
from dashboard.serving import Server
from dashboard.settings import DashboardSettings
from tests.browser.walking import HOST, flaws

pytestmark = pytest.mark.browser
MINUTE_MS = 60_000


def fridge_air(minutes: int) -> "np.typing.NDArray[np.float64]":
    """Temperature and humidity of a cycling fridge that gets drier in its last hours."""
    at = np.arange(minutes)
    saw = np.abs((at % 30) / 15 - 1)
    noise = np.random.default_rng(3).normal(0, 1, (2, minutes))
    dry = np.clip((at - (minutes - 300)) / 300, 0, 1) * 12
    return np.round(np.stack([11.5 + saw + 0.03 * noise[0], 88 - 6 * saw + 0.3 * noise[1] - dry]), 2)


def fill(settings: Settings, now_at: datetime) -> str:
    """A fridge with three days of minutes, a box in it, a cellar that fell silent, the air outside; the fridge's id."""
    records, since = open_records(settings.records_at), now_at - timedelta(days=30)
    with records.begin() as db:
        for key, value in (("household.time_zone", "Europe/Zurich"), ("household.dairy_name", "Quiet Hollow")):
            db.execute(insert(setting), [{"key": key, "value": value}])
        db.execute(insert(setting), [{"key": "first_start.done", "value": True}])
        fridge = _place(db, "Washed fridge", "cave", 0, "fridge", since)
        _place(db, "Lidded box", "box", 1, None, since, parent_id=fridge)
        _place(db, "Cellar with a long name under the barn", "cave", 2, "cellar", since)
        _place(db, "North wall", "outside", 3, "outside", since)
        opened_at = now_at - timedelta(hours=2)
        db.execute(insert(warning), [{
            "id": new_id(), "rule": "too_dry", "place_id": fridge, "severity": "warn", "opened_at": opened_at,
            "found_at": opened_at, "found_late": False,
            "facts": {"quantity": "humidity", "unit": "%RH", "side": "low", "limit": 82.0, "last": 78.0,
                      "heading": "away", "per_h": -2.4},
        }])  # fmt: skip
    sign(records, "collector", now_at + timedelta(hours=1), {})
    records.dispose()
    store, end = SqliteReadings(settings.readings_path), to_ms(now_at)
    air = fridge_air(3 * 1440)
    store.add([_message("fridge", end - (4320 - i) * MINUTE_MS, *air[:, i].tolist()) for i in range(4320)])
    store.add([_message("outside", end - i * 600_000, 4.0, 80.0) for i in range(300, -1, -1)])
    store.add([_message("cellar", end - i * 600_000, 11.0, 88.0) for i in range(300, 30, -1)])
    store.add([_message("<b>new one</b>", end - 60_000, 20.0, 50.0)])
    while follow(store):
        pass
    with store.transaction() as db:
        packs.make_due(db, end)
    store.close()
    return fridge


def _place(db: Connection, name: str, kind: str, position: int, probe: str | None, since: datetime, **more: str) -> str:
    own = Place(new_id(), name, kind, position=position, **more)  # type: ignore[arg-type]
    add_place(db, own)
    if kind == "cave":
        add_fact(db, Target(new_id(), since, since, own.id, False, 10.0, 14.0, 82.0, 92.0))
    if probe:
        add_fact(db, Placement(new_id(), since, since, probe, "outside" if kind == "outside" else "air", own.id))
    return own.id


def _message(probe: str, taken_ms: int, temperature_c: float, humidity_pct: float) -> Arrival:
    samples = (
        Sample("temperature", taken_ms, temperature_c, "Cel", "temperature"),
        Sample("humidity", taken_ms, humidity_pct, "%RH", "humidity"),
    )
    return Arrival(probe, f"rindwatch/{probe}/readings", taken_ms, samples)


@pytest.fixture(scope="module")
def dairy(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[str, str, Settings]]:
    """Address, the fridge's id and the settings of a house with caves; whoever comes from here is the owner."""
    settings = Settings(data=tmp_path_factory.mktemp("dairy"))
    prepare(settings)
    fridge = fill(settings, datetime.now(UTC))
    app = create_app(settings, DashboardSettings(sign_in="open-on-loopback", trusted_hosts=HOST))
    server = Server(uvicorn.Config(app, port=0, log_config=None, ws="none"))
    thread = threading.Thread(target=lambda: asyncio.run(server.serve()))
    thread.start()
    while not server.started:
        assert thread.is_alive()
        threading.Event().wait(0.01)
    port = server.servers[0].sockets[0].getsockname()[1]
    yield f"http://127.0.0.1:{port}", fridge, settings
    server.should_exit = True
    thread.join()


@pytest.fixture
def opened(phone: Callable[..., Page], dairy: tuple[str, str, Settings]) -> Callable[..., Page]:
    """Opens a page of the dairy: opened("/caves"), opened("?span=week") for the fridge."""

    def open_path(path: str, dark: bool = False, **more: object) -> Page:
        address, fridge, _settings = dairy
        page = phone(address, dark=dark, **more)
        page.goto(path if path == "/caves" else f"/caves/{fridge}{path}")
        return page

    return open_path


def test_the_caves_are_seen_at_a_glance(opened: Callable[..., Page]) -> None:
    page = opened("/caves")
    expect(page.locator(".card")).to_have_count(4)
    expect(page.get_by_text("Too dry for 2 h")).to_be_visible()
    expect(page.get_by_text("No word from the probe since")).to_be_visible()
    expect(page.get_by_text("1 probe waits for a place")).to_be_visible()
    expect(page.get_by_text("Not measured here").first).to_be_visible()
    expect(page.get_by_text(re.compile("air now"))).to_have_count(1)
    assert flaws(page, "caves") == []


@pytest.mark.parametrize("path", ["?span=day", "?span=week", "/cooler"])
def test_a_cave_over_time_is_drawn_and_axe_is_content(opened: Callable[..., Page], path: str) -> None:
    page = opened(path)
    expect(page.locator(".plot[data-drawn]")).to_have_count(1)
    page.locator("summary").first.click()
    assert flaws(page, f"cave-{path.strip('?/').replace('=', '-')}", again=".plot[data-drawn]") == []


def test_a_thumb_goes_from_the_caves_through_time_and_back(opened: Callable[..., Page]) -> None:
    page = opened("/caves")
    page.get_by_role("heading", name="Washed fridge").get_by_role("link").click()
    page.get_by_role("link", name="week", exact=True).click()
    expect(page.locator('.spans a[aria-current="true"]')).to_have_text("week")
    page.get_by_role("link", name="Earlier").click()
    expect(page.get_by_role("link", name="Later")).to_be_visible()
    page.get_by_role("link", name="Now", exact=True).click()
    expect(page.locator("figcaption")).to_contain_text("to now")
    page.get_by_role("link", name="Caves").first.click()
    expect(page).to_have_url(re.compile("/caves$"))


def test_the_chart_tells_the_households_time_wherever_the_phone_is(opened: Callable[..., Page]) -> None:
    """The phone's zone is Auckland's; a library that were given numbers would draw in it."""
    page = opened("?span=hour")
    expect(page.locator(".plot[data-drawn]")).to_have_count(1)
    here = datetime.now(UTC).astimezone(ZoneInfo("Europe/Zurich"))
    shown = page.evaluate("document.querySelector('#air').layout.xaxis.range[1]")
    drawn = datetime.fromisoformat(shown[:16])
    assert abs((here.replace(tzinfo=None) - drawn).total_seconds()) < 180
    last = page.evaluate("document.querySelector('#air').data.find((t) => t.name === 'temperature').x.at(-1)")
    assert abs((here.replace(tzinfo=None) - datetime.fromisoformat(last)).total_seconds()) < 300


def test_one_touch_gives_a_picture_and_one_the_table(opened: Callable[..., Page], tmp_path: Path) -> None:
    page = opened("?span=day")
    with page.expect_download() as download:
        page.get_by_role("button", name="Picture").click()
    kept = tmp_path / "chart.png"
    download.value.save_as(kept)
    assert download.value.suggested_filename.startswith("Washed fridge")
    assert kept.read_bytes()[:8] == b"\x89PNG\r\n\x1a\n"
    assert kept.stat().st_size > 20_000
    with page.expect_download() as download:
        page.get_by_role("link", name="CSV").click()
    download.value.save_as(tmp_path / "air.csv")
    text = (tmp_path / "air.csv").read_text()
    assert text.startswith("time (Europe/Zurich),time (UTC),temperature mean (degC)")
    assert text.count("\n") > 140


def test_what_happened_leads_to_its_warning(opened: Callable[..., Page]) -> None:
    page = opened("?span=day")
    page.get_by_text("What happened in this time").click()
    page.locator("#happened a").first.click()
    expect(page).to_have_url(re.compile("/warnings/"))


def test_keys_alone_reach_every_span(opened: Callable[..., Page]) -> None:
    page = opened("?span=day")
    page.wait_for_load_state("networkidle")
    page.locator(".skip").focus()
    for _ in range(40):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.textContent.trim()") == "month":
            break
    page.keyboard.press("Enter")
    page.wait_for_url("**span=month**")
    expect(page.locator('.spans a[aria-current="true"]')).to_have_text("month")


def test_a_finger_on_the_chart_scrolls_the_page(opened: Callable[..., Page]) -> None:
    page = opened("?span=day")
    expect(page.locator(".plot[data-drawn]")).to_have_count(1)
    page.evaluate("document.querySelector('#air').scrollIntoView({block: 'center'})")
    before = page.evaluate("scrollY")
    client = page.context.new_cdp_session(page)
    client.send("Input.dispatchTouchEvent", {"type": "touchStart", "touchPoints": [{"x": 200, "y": 600}]})
    for step in range(1, 21):
        point = {"x": 200, "y": 600 - 15 * step}
        client.send("Input.dispatchTouchEvent", {"type": "touchMove", "touchPoints": [point]})
    client.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})
    page.wait_for_function(f"scrollY > {before + 100}")
    expect(page.locator(".plot[data-drawn]")).to_have_count(1)
    assert "span=day" in page.url, "the chart took the finger for a choice"


def test_without_script_the_numbers_are_whole(phone: Callable[..., Page], dairy: tuple[str, str, Settings]) -> None:
    address, fridge, _settings = dairy
    page = phone(address, java_script_enabled=False)
    page.goto(f"/caves/{fridge}?span=week")
    page.get_by_text("The numbers, newest first").click()
    expect(page.locator("tbody tr").first).to_contain_text("to")
    page.get_by_role("link", name="month", exact=True).click()
    expect(page.locator('.spans a[aria-current="true"]')).to_have_text("month")


def test_a_new_reading_shows_by_itself(opened: Callable[..., Page], dairy: tuple[str, str, Settings]) -> None:
    page = opened("/caves")
    page.clock.install()
    page.reload()
    store = SqliteReadings(dairy[2].readings_path)
    store.add([_message("fridge", to_ms(datetime.now(UTC)), 13.4, 85.0)])
    follow(store)
    store.close()
    with page.expect_response("**/caves/cards"):
        page.clock.fast_forward(30_000)
    expect(page.get_by_text("13.4 °C").first).to_be_visible()
