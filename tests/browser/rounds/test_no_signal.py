"""The cellar has no signal: entries and photos are kept, the pages open, and each entry is stored once in the end.

The network is cut and restored at random, the page closed and opened again, the server killed in between. The seed
makes a failure come again.
"""

import random
import signal
import time
from collections import Counter
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect
from sqlalchemy import select

from collector.records.engine import open_records, reading
from collector.settings import Settings
from dashboard.api.entries import photos_folder
from dashboard.wheels import tables
from dashboard.wheels.photo_files import photo_path, whole
from tests.browser.rounds.cellar import Cellar, a_cellar
from tests.browser.rounds.conftest import owner_cookies, settings_like
from tests.browser.rounds.mortal import Mortal
from tests.browser.rounds.test_round import a_photo
from tests.browser.rounds.thumb import book, line, listen, until, waiting_count
from tests.browser.walking import Served, picture, serious

pytestmark = [pytest.mark.browser, pytest.mark.timeout(600)]
NETWORK = r"net::ERR_|Failed to load resource"  # what a browser says of a house that does not answer
SEND_WAIT_S = 180.0


@pytest.fixture
def mortal(browser: Browser, served: Served, tmp_path: Path) -> Iterator[tuple[Mortal, Cellar, dict[str, object]]]:
    settings = settings_like(served, Settings(data=tmp_path))
    engine = open_records(settings.records_at)
    cellar = a_cellar(engine, (8, 8))
    engine.dispose()
    house = Mortal(settings)
    house.start()
    assert house.process is not None
    state = owner_cookies(browser, Served(house.http, house.https, settings, house.process))
    yield house, cellar, state
    house.stop()


def opened(page: Page, path: str = "/round") -> Page:
    listen(page)
    page.goto(path)
    until(lambda: bool(page.evaluate("document.documentElement.dataset.painted")), "the marks were not laid over")
    return page


def kept_by_worker(page: Page) -> None:
    """Wait until the worker keeps the round."""
    paths = "['/round', '/at/any', '/waiting', '/round/kept.json']"
    asked = f"() => Promise.all({paths}.map((path) => caches.match(path))).then((kept) => kept.every(Boolean))"
    until(lambda: bool(page.evaluate(asked)), "the worker keeps nothing")


class Chaos:
    """Cuts and restores at random; remembers what was touched."""

    def __init__(self, house: Mortal, context: BrowserContext, page: Page, seed: int) -> None:
        self.house, self.context, self.page = house, context, page
        self.dice = random.Random(seed)
        self.is_offline = False
        self.reopened = 0
        self.touched: Counter[str] = Counter()
        self.noted: Counter[str] = Counter()

    def strike(self, may_reopen_dead: bool) -> None:
        what = self.dice.random()
        if what < 0.05:
            self.is_offline = not self.is_offline
            self.context.set_offline(self.is_offline)
        elif what < 0.09:
            time.sleep(self.dice.random() * 0.05)  # perhaps between the commit and its answer
            self.house.kill()
        elif what < 0.17:
            self.house.start()
        elif what < 0.22 and (may_reopen_dead or (self.house.process and not self.is_offline)):
            self.reopen()

    def reopen(self) -> None:
        self.page.close()
        self.page = self.context.new_page()
        self.page.set_default_timeout(15_000)
        opened(self.page)
        self.reopened += 1

    def calm(self) -> None:
        self.context.set_offline(False)
        self.house.start()


@pytest.mark.parametrize(("scheme", "seed", "entries", "photos"), [("https", 7, 200, 40), ("http", 11, 60, 12)])
def test_everything_is_stored_once_whatever_happens_between(
    mortal: tuple[Mortal, Cellar, dict[str, object]],
    phone: Callable[..., Page],
    scheme: str,
    seed: int,
    entries: int,
    photos: int,
) -> None:
    house, cellar, state = mortal
    page = phone(getattr(house, scheme), storage_state=state, forgiven=NETWORK)
    page.set_default_timeout(15_000)
    opened(page)
    if scheme == "https":
        kept_by_worker(page)
    chaos = Chaos(house, page.context, page, seed)
    work = ["touch"] * entries + ["photo"] * photos
    chaos.dice.shuffle(work)
    wheels, data = list(cellar.wheels.values()), a_photo()
    for number, what in enumerate(work):
        chaos.strike(may_reopen_dead=scheme == "https")
        wheel = chaos.dice.choice(wheels)
        saves = int(chaos.page.evaluate("window.saves"))
        if what == "touch":
            line(chaos.page, wheel).get_by_role("button", name="Turned", exact=True).tap()
            chaos.touched[wheel] += 1
        else:
            note(chaos.page, wheel, data, number)
            chaos.noted[wheel] += 1
        until(lambda saves=saves: int(chaos.page.evaluate("window.saves")) > saves, "not saved on the phone")
    assert house.kills >= entries // 50
    assert chaos.reopened >= entries // 50
    chaos.calm()
    until(lambda: waiting_count(chaos.page) == 0, "something still waits on the phone", SEND_WAIT_S)
    check_book(house.settings, chaos)
    print(f"{scheme}: {house.kills} kills, {chaos.reopened} pages opened again, {entries} entries, {photos} photos")


def note(page: Page, wheel: str, data: bytes, number: int) -> None:
    line(page, wheel).get_by_role("link", name="Note, photo").tap()
    dialog = page.locator("dialog[open]")
    dialog.get_by_label("Words").fill(f"photo {number}")
    photo = {"name": "rind.jpg", "mimeType": "image/jpeg", "buffer": data}
    dialog.locator('input[name="photo"][multiple]').set_input_files(files=[photo])
    dialog.get_by_role("button", name="Keep", exact=True).tap()
    expect(dialog).to_have_count(0)


def check_book(settings: Settings, chaos: Chaos) -> None:
    """Every touch once, every photo once and whole on the disk."""
    day = time.time() - 86_400
    cares = [e for e in book(settings, kind="care") if e["received_at"].timestamp() > day and e["sent_at"]]
    notes = [e for e in book(settings, kind="note") if e["sent_at"]]
    assert Counter(entry["wheel_id"] for entry in cares) == chaos.touched
    assert Counter(entry["wheel_id"] for entry in notes) == chaos.noted
    assert len({entry["body"]["text"] for entry in notes}) == chaos.noted.total()
    named = [photo for entry in notes for photo in entry["body"]["photos"]]
    engine = open_records(settings.records_at)
    with reading(engine) as db:
        kept = {row.id: row.content_hash for row in db.execute(select(tables.photo))}
    engine.dispose()
    assert sorted(named) == sorted(kept)
    assert len(named) == chaos.noted.total()
    folder = photos_folder(settings)
    assert all(whole(photo_path(folder, content), content) for content in kept.values())


def test_the_round_a_wheel_and_what_waits_open_without_the_house(
    mortal: tuple[Mortal, Cellar, dict[str, object]], phone: Callable[..., Page]
) -> None:
    house, cellar, state = mortal
    page = phone(house.https, storage_state=state, forgiven=NETWORK)
    opened(page)
    kept_by_worker(page)
    house.kill()
    page.goto("/")
    expect(page).to_have_url(f"{house.https}/round")
    expect(page.get_by_text("This is what the phone kept.")).to_be_visible()
    expect(page.get_by_text("as of")).to_be_visible()
    picture(page, "no-signal-round")
    wheel = cellar.wheels["24-02"]
    page.goto(f"/at/{wheel}")
    expect(page.get_by_role("heading", name="24-02")).to_be_visible()
    expect(page.get_by_text("Last: 2.10 kg on")).to_be_visible()
    page.get_by_role("textbox", name="Weight", exact=True).fill("2860")
    page.locator("#weigh").get_by_role("button", name="Keep", exact=True).tap()
    expect(page.get_by_text("24-02 weighed 2.06 kg. Saved on this phone.")).to_be_visible()
    assert serious(page) == []
    page.goto("/waiting")
    expect(page.get_by_text("1 entry waits on this phone.", exact=True)).to_be_visible()
    picture(page, "no-signal-waiting")
    page.goto(f"/wheels/{wheel}")
    expect(page.get_by_role("heading", name="24-02")).to_be_visible()
    page.goto("/settings")
    expect(page.get_by_role("heading", name="The house does not answer")).to_be_visible()
    house.start()
    page.goto("/waiting")
    until(lambda: waiting_count(page) == 0, "the entry was not sent")
    assert book(house.settings, kind="weighing", wheel_id=wheel)[-1]["body"]["scale_g"] == 2860


def test_what_waits_is_told_on_every_page_and_until_when(
    mortal: tuple[Mortal, Cellar, dict[str, object]], phone: Callable[..., Page]
) -> None:
    house, cellar, state = mortal
    page = phone(house.http, storage_state=state, forgiven=NETWORK)
    opened(page)
    expect(page.get_by_text("the round works only while this page stays open")).to_be_visible()
    house.kill()
    for code in ("24-01", "24-02", "24-03"):
        line(page, cellar.wheels[code]).get_by_role("button", name="Turned", exact=True).tap()
    expect(page.get_by_text("3 entries wait on this phone; open it in Wi-Fi before")).to_be_visible(timeout=15_000)
    picture(page, "waits-round")
    three_days_ago = "Date.now() - 3 * 86400e3"
    page.evaluate(
        f"""async () => {{ for (const one of await rindwatch.store.waiting())
        await rindwatch.store.change(one.id, {{savedMs: {three_days_ago}}}); }}"""
    )
    expect(page.get_by_text("(the oldest for 3 days)")).to_be_visible()
    house.start()
    page.goto("/more")
    until(lambda: waiting_count(page) == 0, "not sent from another page")


def test_the_outbox_is_saved_as_a_file_and_brought_in_on_another_phone(
    mortal: tuple[Mortal, Cellar, dict[str, object]], phone: Callable[..., Page], tmp_path: Path
) -> None:
    house, cellar, state = mortal
    page = phone(house.http, storage_state=state, forgiven=NETWORK)
    opened(page)
    page.goto("/waiting")
    lost = page.context.new_page()
    lost.set_default_timeout(15_000)
    opened(lost)
    page.route("**/api/**", lambda route: route.abort())
    lost.route("**/api/**", lambda route: route.abort())
    note(lost, cellar.wheels["24-04"], a_photo(), 1)
    until(lambda: waiting_count(page) == 2, "the note and its photo wait")
    with page.expect_download() as download:
        page.get_by_role("button", name="Save as a file").tap()
    path = tmp_path / "outbox.json"
    download.value.save_as(path)
    lost.close()
    page.close()
    other = phone(house.http, storage_state=state, forgiven=NETWORK)
    listen(other)
    other.goto("/waiting")
    other.get_by_text("Bring in a saved file").tap()
    other.get_by_label("The file").set_input_files(path)
    expect(other.get_by_text("2 brought in.")).to_be_visible()
    until(lambda: waiting_count(other) == 0, "what was brought in was not sent")
    kept = book(house.settings, kind="note", wheel_id=cellar.wheels["24-04"])
    assert [entry["body"]["text"] for entry in kept] == ["photo 1"]
    assert len(kept[0]["body"]["photos"]) == 1


def test_a_house_that_takes_but_does_not_answer_is_not_waited_for(
    mortal: tuple[Mortal, Cellar, dict[str, object]], phone: Callable[..., Page]
) -> None:
    """At the edge of the Wi-Fi a phone connects and hears nothing: a stopped process is that to the letter."""
    house, cellar, state = mortal
    page = phone(house.https, storage_state=state, forgiven=NETWORK)
    opened(page)
    kept_by_worker(page)
    assert house.process is not None
    house.process.send_signal(signal.SIGSTOP)
    try:
        page.goto("/round", wait_until="domcontentloaded")
        expect(page.get_by_text("This is what the phone kept.")).to_be_visible()
        line(page, cellar.wheels["24-01"]).get_by_role("button", name="Turned", exact=True).tap()
        expect(page.get_by_text("24-01: Turned. Saved on this phone.")).to_be_visible()
    finally:
        house.process.send_signal(signal.SIGCONT)
    until(lambda: waiting_count(page) == 0, "not sent once the house answers", SEND_WAIT_S)
    assert len([e for e in book(house.settings, kind="care", wheel_id=cellar.wheels["24-01"]) if e["sent_at"]]) == 1
