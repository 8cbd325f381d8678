"""What a cellar does to a phone: the network comes and goes, the page closes, the house dies; the dice are seeded."""

import random
import time
from collections import Counter
from dataclasses import dataclass

from playwright.sync_api import Page, expect
from sqlalchemy import select

from collector.records.engine import open_records, reading
from collector.settings import Settings
from dashboard.api.entries import photos_folder
from dashboard.wheels import tables
from dashboard.wheels.photo_files import photo_path, whole
from tests.browser.rounds.cellar import Cellar
from tests.browser.rounds.mortal import Mortal
from tests.browser.rounds.test_round import a_photo
from tests.browser.rounds.thumb import book, line, listen, until, waiting_count

NETWORK = r"net::ERR_|Failed to load resource"  # what a browser says of a house that does not answer
SEND_WAIT_S = 180.0


def opened(page: Page, path: str = "/round") -> Page:
    listen(page)
    page.goto(path)
    until(lambda: bool(page.evaluate("document.documentElement.dataset.painted")), "the marks were not laid over")
    return page


def kept_by_worker(page: Page) -> None:
    """Wait until the worker keeps the round."""
    paths = "['/round', '/at/any', '/correct/any', '/waiting', '/round/kept.json', '/round/lately.json']"
    asked = f"() => Promise.all({paths}.map((path) => caches.match(path))).then((kept) => kept.every(Boolean))"
    until(lambda: bool(page.evaluate(asked)), "the worker keeps nothing")


class Chaos:
    """Cuts and restores at random; remembers what was touched. `restless`: how often, times the usual."""

    def __init__(self, house: Mortal, page: Page, seed: int, restless: float = 1) -> None:
        self.house, self.context, self.page, self.restless = house, page.context, page, restless
        self.dice = random.Random(seed)
        self.is_offline = False
        self.reopened = self.cuts = 0
        self.touched: Counter[str] = Counter()
        self.noted: Counter[str] = Counter()

    def strike(self, may_reopen_dead: bool) -> None:
        what = self.dice.random() / self.restless
        if what < 0.05:
            self.is_offline = not self.is_offline
            self.context.set_offline(self.is_offline)
            self.cuts += self.is_offline
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


@dataclass(frozen=True, slots=True)
class Ordeal:
    """What was entered, and what happened meanwhile."""

    entries: int
    photos: int
    kills: int
    cuts: int
    reopened: int
    waited: int
    sent_in_s: float

    def __str__(self) -> str:
        return (
            f"{self.entries} entries and {self.photos} photos, each stored once; {self.kills} kills, {self.cuts} cuts, "
            f"{self.reopened} pages opened again; at most {self.waited} waited, sent {self.sent_in_s:.1f} s after calm"
        )


def ordeal(chaos: Chaos, cellar: Cellar, entries: int, photos: int, may_reopen_dead: bool) -> Ordeal:
    """Enter so much amid the chaos, let it calm down, and check that the book holds each once."""
    work = ["touch"] * entries + ["photo"] * photos
    chaos.dice.shuffle(work)
    wheels, data, most = list(cellar.wheels.values()), a_photo(), 0
    for number, what in enumerate(work):
        chaos.strike(may_reopen_dead)
        wheel = chaos.dice.choice(wheels)
        saves = int(chaos.page.evaluate("window.saves"))
        if what == "touch":
            line(chaos.page, wheel).get_by_role("button", name="Turned", exact=True).tap()
            chaos.touched[wheel] += 1
        else:
            note(chaos.page, wheel, data, number)
            chaos.noted[wheel] += 1
        until(lambda saves=saves: int(chaos.page.evaluate("window.saves")) > saves, "not saved on the phone")
        most = max(most, waiting_count(chaos.page))
    chaos.calm()
    started = time.monotonic()
    until(lambda: waiting_count(chaos.page) == 0, "something still waits on the phone", SEND_WAIT_S)
    took_s = time.monotonic() - started
    check_book(chaos.house.settings, chaos)
    return Ordeal(entries, photos, chaos.house.kills, chaos.cuts, chaos.reopened, most, took_s)
