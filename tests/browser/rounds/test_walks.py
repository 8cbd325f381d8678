"""What stands round the round: wheels added, the order set, the round on paper and keyed in, what the worker keeps."""

import time
from collections.abc import Callable
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import pypdfium2
import pytest
from playwright.sync_api import Page, expect

from tests.browser.rounds.chaos import NETWORK, kept_by_worker
from tests.browser.rounds.conftest import CellarHouse
from tests.browser.rounds.test_round import a_photo
from tests.browser.rounds.thumb import all_sent, book, kept, line, listen, type_keys, until, waiting_count
from tests.browser.walking import SCREENSHOTS, picture, serious, sign_in

pytestmark = pytest.mark.browser
MINUTES_FOR_SIXTY = 2
DAY = timedelta(days=1)


@pytest.mark.parametrize("https", [True, False], ids=["https", "http"])
def test_sixty_wheels_are_brought_in(keeper: Callable[..., Page], cellar_house: CellarHouse, https: bool) -> None:
    page, started = keeper(https=https), time.monotonic()
    letter = "A" if https else "B"
    page.goto("/round")
    page.get_by_role("link", name="Add wheels").tap()
    lines = [f"23-{n:02d}{letter} tomme {n % 27 + 1} Feb {1.5 + n / 100:.2f} kg left shelf" for n in range(60)]
    page.get_by_label("Your wheels").fill("\n".join(lines))
    page.get_by_role("button", name="Read them").tap()
    expect(page.get_by_role("heading", name="Is that right? 60 wheels")).to_be_visible()
    if https:
        picture(page, "add-confirm")
        assert serious(page) == []
    page.get_by_role("button", name="Put them into the book").first.tap()
    expect(page.get_by_text("In the book: 60 wheels.")).to_be_visible()
    expect(page.get_by_text(f"23-59{letter}", exact=True)).to_be_visible()
    took_s = time.monotonic() - started
    print(f"60 wheels in {took_s:.0f} s")
    assert took_s < MINUTES_FOR_SIXTY * 60


def test_shelves_and_wheels_are_put_into_ones_own_order(keeper: Callable[..., Page], cellar_house: CellarHouse) -> None:
    page, cellar = keeper(), cellar_house.cellar
    page.goto("/round")
    page.get_by_role("link", name="Order of the shelves").tap()
    page.get_by_role("button", name="Right shelf one up").tap()
    page.wait_for_load_state()
    headings = page.locator(".order strong")
    expect(headings.nth(1)).to_have_text("Right shelf")
    page.get_by_role("link", name="Right shelf").tap()
    page.locator(f'input[value="{cellar.wheels["24-17"]}"]').tap()
    page.get_by_role("button", name="Before 24-13").tap()
    expect(page.get_by_text("Put there.")).to_be_visible()
    page.goto("/round")
    shown = page.locator(f"#s-{cellar.shelves[1]} [data-code]").all_text_contents()
    assert shown == ["24-17", "24-13", "24-14", "24-15", "24-16"]
    titles = page.locator("section.shelf h2").all_text_contents()
    assert titles[1].startswith("Right shelf")


def test_the_round_is_printed_shelf_by_shelf_and_keyed_in_with_one_time(
    keeper: Callable[..., Page], cellar_house: CellarHouse
) -> None:
    page, cellar, settings = keeper(https=False), cellar_house.cellar, cellar_house.served.settings
    page.goto("/round")
    page.get_by_role("link", name="The round on paper").tap()
    expect(page.get_by_role("button", name="Print")).to_be_visible()
    SCREENSHOTS.mkdir(exist_ok=True)
    path = SCREENSHOTS / "round.pdf"
    page.pdf(path=path, format="A4")
    document = pypdfium2.PdfDocument(path)
    text = "".join(sheet.get_textpage().get_text_range() for sheet in document)
    document[0].render(scale=1.5).to_pil().save(SCREENSHOTS / "paper.png")
    document.close()
    assert all(code in text for code in cellar.wheels)
    assert "Done on" in text
    page.get_by_role("link", name="Key one in").tap()
    expect(page.get_by_label("All this was at")).not_to_have_value("")
    eight = datetime.now(ZoneInfo("Pacific/Auckland")).replace(hour=8, minute=0, second=0, microsecond=0) - DAY
    page.get_by_label("All this was at").fill(f"{eight:%Y-%m-%dT%H:%M}")
    right = page.locator("section.shelf", has=page.get_by_role("heading", name="Right shelf"))
    right.get_by_label("All of this shelf: turned, nothing new").check()
    wheel = right.locator("li.wheel", has_text="24-15")
    wheel.get_by_label("not this one").check()
    wheel.get_by_label("Weight").first.fill("2850")
    wheel.get_by_label("Rind note").fill("hard, dry edge")
    page.get_by_role("button", name="Keep all of it").tap()
    expect(page.get_by_text("Kept: 6 entries.")).to_be_visible()
    made = [entry for entry in book(settings, kind="care") if entry["happened_at"] == eight]
    assert {entry["wheel_id"] for entry in made} == {cellar.wheels[f"24-{n}"] for n in (13, 14, 16, 17)}
    assert {entry["typed_time"] for entry in made} == {True}
    assert book(settings, kind="rind_note")[-1]["body"]["note"] == "dry_edge"


def test_a_photo_of_the_shelf_counts_as_looked_at(keeper: Callable[..., Page], cellar_house: CellarHouse) -> None:
    page, cellar, settings = keeper(forgiven=NETWORK), cellar_house.cellar, cellar_house.served.settings
    listen(page)
    page.goto("/round")
    page.context.set_offline(True)
    right = page.locator(f"#s-{cellar.shelves[1]}")
    shelf = {"name": "shelf.jpg", "mimeType": "image/jpeg", "buffer": a_photo()}
    right.locator("[data-shelf-photo]").set_input_files(files=[shelf])
    expect(right.locator(".did.waits", has_text="looked at")).to_have_count(5)
    picture(page, "round-shelf-photo")
    until(lambda: waiting_count(page) == 2, "photo and entry wait")
    page.context.set_offline(False)
    all_sent(page)
    (made,) = book(settings, kind="shelf_photo")
    assert (made["place_id"], made["wheel_id"], made["flags"]) == (cellar.shelves[1], None, [])
    dark = keeper(dark=True)
    dark.goto(f"/caves/{cellar.cave}")
    expect(dark.get_by_role("img", name="Right shelf")).to_be_visible()
    picture(dark, "cave-shelf-photo-dark")
    page.goto(f"/wheels/{cellar.wheels['24-14']}")
    expect(page.get_by_role("img", name="the shelf")).to_be_visible()
    with kept(page):
        page.evaluate(f"rindwatch.outbox.undo('{made['group_id']}', 'Taken back')")
    page.reload()
    expect(page.get_by_role("img", name="the shelf")).to_have_count(0)


def test_a_wheel_noted_as_moved_is_moved_in_three_touches(
    keeper: Callable[..., Page], cellar_house: CellarHouse
) -> None:
    page, cellar = keeper(), cellar_house.cellar
    page.goto("/round")
    line(page, cellar.wheels["24-17"]).get_by_role("link", name="More for 24-17").tap()
    page.locator("dialog[open]").get_by_role("link", name="moved to another place").tap()
    page.get_by_role("link", name="Left shelf").tap()
    page.get_by_role("button", name="Move to Left shelf").tap()
    expect(page.get_by_text("1 wheel moved to Left shelf.")).to_be_visible()
    *_before, moved = book(cellar_house.served.settings, kind="moved", wheel_id=cellar.wheels["24-17"])
    assert moved["place_id"] == cellar.shelves[0]


def test_a_new_board_is_remembered_without_a_signal(keeper: Callable[..., Page], cellar_house: CellarHouse) -> None:
    page, cellar = keeper(https=False, forgiven=NETWORK), cellar_house.cellar
    listen(page)
    page.goto("/round")
    page.context.set_offline(True)
    line(page, cellar.wheels["24-11"]).get_by_role("link", name="Weigh").tap()
    dialog = page.locator("dialog[open]")
    type_keys(page, "2800")
    dialog.get_by_label("On which board").select_option(label="on a new board...")
    dialog.get_by_label("New board's name").fill("Oak 1")
    dialog.get_by_label("and its weight").fill("750")
    dialog.get_by_role("button", name="Keep", exact=True).tap()
    until(lambda: waiting_count(page) == 2, "board and weighing wait")
    line(page, cellar.wheels["24-12"]).get_by_role("link", name="Weigh").tap()
    dialog.get_by_label("On which board").select_option(label="on Oak 1")
    type_keys(page, "2790")
    dialog.get_by_role("button", name="Keep", exact=True).tap()
    until(lambda: waiting_count(page) == 3, "the second weighing waits")
    page.context.set_offline(False)
    until(lambda: waiting_count(page) == 0, "not sent")
    weighed = book(cellar_house.served.settings, kind="weighing")[-2:]
    assert [entry["body"]["tare_g"] for entry in weighed] == [750, 750]
    assert len({entry["body"]["board_id"] for entry in weighed}) == 1


def test_the_worker_keeps_no_sign_in_and_forgets_when_it_is_signed_out(
    phone: Callable[..., Page], cellar_house: CellarHouse
) -> None:
    page = phone(cellar_house.served.https, forgiven=NETWORK)
    sign_in(page)
    page.goto("/round")
    kept_by_worker(page)
    page.context.clear_cookies()
    page.evaluate("navigator.serviceWorker.ready.then((own) => own.active.postMessage({rindwatch: 'keep'}))")
    until(lambda: page.evaluate("caches.match('/round').then((kept) => !kept)"), "the round is still kept")
    assert page.evaluate(
        """async () => {
        const found = [];
        for (const name of await caches.keys()) for (const asked of await (await caches.open(name)).keys()) {
          const answer = await (await caches.open(name)).match(asked);
          if ((await answer.text()).includes('name="password"')) found.push(asked.url);
        }
        return found;
        }"""
    ) == []  # fmt: skip


# What the phone has after a new version's worker took over and the signal went before it had kept a page.
AS_AFTER_AN_UPGRADE = """async () => {
  for (const name of await caches.keys()) {
    const [kind] = name.split("-"), from = await caches.open(name), to = await caches.open(`${kind}-older`);
    for (const asked of await from.keys()) await to.put(asked, await from.match(asked));
    if (kind === "round") await caches.delete(name);
  }
}"""


def test_what_an_older_version_kept_opens_until_the_new_one_has_kept_all(
    keeper: Callable[..., Page], cellar_house: CellarHouse
) -> None:
    page, wheel = keeper(forgiven=NETWORK), cellar_house.cellar.wheels["24-08"]
    listen(page)
    page.goto("/round")
    kept_by_worker(page)
    page.evaluate(AS_AFTER_AN_UPGRADE)
    page.context.set_offline(True)
    page.goto("/round")
    expect(page.get_by_text("This is what the phone kept.")).to_be_visible()
    page.goto(f"/at/{wheel}")
    expect(page.get_by_role("heading", name="24-08")).to_be_visible()
    page.context.set_offline(False)
    page.goto("/round")
    kept_by_worker(page)
    names = "caches.keys().then((names) => names.filter((name) => name.endsWith('-older')))"
    until(lambda: page.evaluate(names) == [], "the older version's pages stay for ever")
    page.context.set_offline(True)
    page.goto(f"/at/{wheel}")
    expect(page.get_by_role("heading", name="24-08")).to_be_visible()
