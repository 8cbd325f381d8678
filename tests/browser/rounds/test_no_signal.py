"""The cellar has no signal: entries and photos are kept, the pages open, and each entry is stored once in the end.

The network is cut and restored at random, the page closed and opened again, the server killed in between. The seed
makes a failure come again. `python -m tests.bench.bench_no_signal` does it with 200 entries and 40 photos.
"""

import os
import signal
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from collector.records.engine import open_records
from collector.settings import Settings
from tests.browser.rounds.cellar import Cellar, a_cellar
from tests.browser.rounds.chaos import NETWORK, SEND_WAIT_S, Chaos, kept_by_worker, note, opened, ordeal
from tests.browser.rounds.conftest import owner_cookies, settings_like
from tests.browser.rounds.mortal import Mortal
from tests.browser.rounds.test_round import a_photo
from tests.browser.rounds.thumb import book, line, listen, until, waiting_count
from tests.browser.walking import Served, flaws, picture, serious

pytestmark = [pytest.mark.browser, pytest.mark.timeout(600)]
SMALL = {"https": "40+8", "http": "16+3"}


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


@pytest.mark.parametrize(("scheme", "seed"), [("https", 0), ("http", 44)])
def test_everything_is_stored_once_whatever_happens_between(
    mortal: tuple[Mortal, Cellar, dict[str, object]], phone: Callable[..., Page], scheme: str, seed: int
) -> None:
    house, cellar, state = mortal
    page = phone(getattr(house, scheme), storage_state=state, forgiven=NETWORK)
    page.set_default_timeout(15_000)
    opened(page)
    if scheme == "https":
        kept_by_worker(page)
    entries, photos = map(int, os.environ.get("RINDWATCH_TEST_NO_SIGNAL", SMALL[scheme]).split("+"))
    chaos = Chaos(house, page, seed, restless=1 if entries >= 100 else 2)
    found = ordeal(chaos, cellar, entries, photos, may_reopen_dead=scheme == "https")
    print(f"{scheme}: {found}")
    assert found.kills >= max(1, entries // 50)
    assert found.cuts >= 1
    assert found.reopened >= max(1, entries // 50)
    assert found.waited > 1


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
    expect(page.get_by_text("1 entry waits on this phone; open it in Wi-Fi before")).to_be_visible()
    expect(page.get_by_role("link", name="What waits on this phone")).to_be_visible()
    assert flaws(page, "no-signal-dead-end") == []
    page.get_by_role("link", name="Go on with the round").tap()
    expect(page.get_by_text("This is what the phone kept.")).to_be_visible()
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


def test_what_waits_is_told_where_nothing_is_late(
    mortal: tuple[Mortal, Cellar, dict[str, object]], phone: Callable[..., Page]
) -> None:
    house, cellar, state = mortal
    page = phone(house.http, storage_state=state, forgiven=NETWORK)
    opened(page)
    expect(page.get_by_text("16 of 16 wheels late")).to_be_visible()
    for shelf in cellar.shelves:
        page.locator(f"#s-{shelf}").get_by_text("More for the whole shelf").tap()
        page.locator(f"#s-{shelf}").get_by_role("button", name="Leave what was missed, start from today").tap()
    expect(page.get_by_text("Nothing is late; 0 of 16 wheels due today")).to_be_visible()
    until(lambda: waiting_count(page) == 0, "not sent")
    opened(page)
    expect(page.get_by_text("Nothing is late; 0 of 16 wheels due today")).to_be_visible()
    house.kill()
    line(page, cellar.wheels["24-01"]).get_by_role("button", name="Turned", exact=True).tap()
    expect(page.get_by_text("1 entry waits on this phone; open it in Wi-Fi before")).to_be_visible(timeout=15_000)
    line(page, cellar.wheels["24-02"]).get_by_role("button", name="Turned", exact=True).tap()
    expect(page.get_by_text("2 entries wait on this phone; open it in Wi-Fi before")).to_be_visible(timeout=15_000)


def test_pages_without_the_frame_say_what_waits_too(
    mortal: tuple[Mortal, Cellar, dict[str, object]], phone: Callable[..., Page]
) -> None:
    house, cellar, state = mortal
    page = phone(house.http, storage_state=state, forgiven=NETWORK)
    opened(page)
    page.goto("/caves/no-such-cave")
    expect(page.locator("[data-waits-alone]")).to_be_hidden()
    page.route("**/api/**", lambda route: route.abort())
    opened(page)
    line(page, cellar.wheels["24-01"]).get_by_role("button", name="Turned", exact=True).tap()
    until(lambda: waiting_count(page) == 1, "nothing waits")
    page.goto("/caves/no-such-cave")
    expect(page.get_by_text("1 entry waits on this phone; open it in Wi-Fi before")).to_be_visible()
    page.context.clear_cookies()
    page.goto("/more")
    expect(page.get_by_role("button", name="Sign in")).to_be_visible()
    expect(page.get_by_text("1 entry waits on this phone until you sign in.")).to_be_visible()
    assert flaws(page, "sign-in-waits") == []


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
