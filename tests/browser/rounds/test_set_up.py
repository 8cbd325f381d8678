"""The set-up ends with a real test, and signing out leaves no view of the caves on the phone."""

from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from tests.browser.rounds.chaos import NETWORK, kept_by_worker
from tests.browser.rounds.conftest import CellarHouse
from tests.browser.rounds.thumb import book, line, listen, until, waiting_count
from tests.browser.walking import picture, serious, sign_in

pytestmark = pytest.mark.browser


def test_a_slow_network_asks_for_no_second_trial_entry(keeper: Callable[..., Page], cellar_house: CellarHouse) -> None:
    page, settings = keeper(https=False, forgiven=NETWORK), cellar_house.served.settings
    before = len([e for e in book(settings, kind="note") if "trial" in e["body"]["text"]])
    # A radio that is off fails at once here; on a phone it can take seconds, and the thumb comes in between.
    page.add_init_script("""
      const asked = window.fetch;
      window.fetch = (what, how) => String(what) !== "/healthz" ? asked(what, how)
        : new Promise((_resolve, reject) => setTimeout(() => reject(new TypeError("no network")), 1500));
    """)
    page.goto("/phone")
    page.context.route("**/phone/ticks", lambda route: route.fulfill(status=429))  # the next test needs it undone
    page.context.route("**/api/entries/**", lambda route: route.abort())
    page.get_by_role("button", name="Begin the test").tap()
    page.get_by_role("button", name="Enter one").tap()
    expect(page.get_by_text("Saved on this phone. Now switch the radio on again.")).to_be_visible()
    page.wait_for_timeout(3000)
    expect(page.get_by_text("Saved on this phone. Now switch the radio on again.")).to_be_visible()
    expect(page.get_by_role("button", name="Enter one")).to_be_hidden()
    page.context.unroute("**/api/entries/**")
    until(lambda: waiting_count(page) == 0, "not sent")
    assert len([e for e in book(settings, kind="note") if "trial" in e["body"]["text"]]) == before + 1


@pytest.mark.parametrize("https", [True, False], ids=["https", "http"])
def test_radio_off_enter_one_radio_on_then_a_tick(
    keeper: Callable[..., Page], cellar_house: CellarHouse, https: bool
) -> None:
    page = keeper(https=https, forgiven=NETWORK)
    page.goto("/phone")
    step = page.locator('[data-step="entry"]')
    expect(step).to_have_class("open")
    page.get_by_role("button", name="Begin the test").tap()
    expect(page.get_by_text("Now switch the radio off")).to_be_visible()
    expect(page.get_by_role("button", name="Enter one")).to_be_hidden()
    page.context.set_offline(True)
    page.get_by_role("button", name="Enter one").tap()
    expect(page.get_by_text("Saved on this phone. Now switch the radio on again.")).to_be_visible()
    assert serious(page) == []
    picture(page, f"phone-test-{'https' if https else 'http'}")
    page.context.set_offline(False)
    expect(page.locator('[data-step="entry"].done')).to_be_visible(timeout=20_000)
    trial = [e for e in book(cellar_house.served.settings, kind="note") if "trial" in e["body"]["text"]][-1]
    undone = [e["replaces"] for e in book(cellar_house.served.settings, kind="withdrawn")]
    assert trial["id"] in undone


def test_signing_out_takes_the_kept_round_away_but_not_what_waits(
    phone: Callable[..., Page], cellar_house: CellarHouse
) -> None:
    page = phone(cellar_house.served.https, forgiven=NETWORK)
    listen(page)
    sign_in(page)
    page.goto("/round")
    kept_by_worker(page)
    page.context.route("**/api/entries/**", lambda route: route.abort())
    line(page, cellar_house.cellar.wheels["24-10"]).get_by_role("button", name="Turned", exact=True).tap()
    until(lambda: waiting_count(page) == 1, "nothing waits")
    page.goto("/settings")
    page.get_by_role("button", name="Sign out here").tap()
    page.wait_for_url("**/sign-in*")
    names = page.evaluate("caches.keys()")
    assert [name for name in names if name.startswith("round-")] == []
    expect(page.get_by_text("1 entry waits on this phone until you sign in.")).to_be_visible()
    page.context.unroute("**/api/entries/**")
    sign_in(page)
    page.goto("/round")
    until(lambda: waiting_count(page) == 0, "what waited was not sent after signing in again")


def test_a_session_that_ended_keeps_everything_and_asks_to_sign_in(
    phone: Callable[..., Page], cellar_house: CellarHouse
) -> None:
    page = phone(cellar_house.served.http, forgiven=f"{NETWORK}|status of 401")
    listen(page)
    sign_in(page)
    page.goto("/round")
    page.context.clear_cookies()
    wheel = cellar_house.cellar.wheels["24-11"]
    line(page, wheel).get_by_role("button", name="Turned", exact=True).tap()
    expect(page.get_by_text("1 entry waits on this phone until you sign in.")).to_be_visible()
    line(page, wheel).get_by_role("button", name="Turned, nothing new").tap()
    expect(page.get_by_text("2 entries wait on this phone until you sign in.")).to_be_visible()
    page.locator("#waiting").get_by_role("link", name="Sign in").tap()
    page.get_by_label("Name").fill("Keeper")
    page.get_by_label("Password").fill("four plain words here")
    page.get_by_role("button", name="Sign in").click()
    page.wait_for_url("**/round")
    until(lambda: waiting_count(page) == 0, "not sent after signing in")


def test_a_session_that_ends_without_a_signal_asks_for_no_sign_in_in_the_middle_of_a_round(
    keeper: Callable[..., Page], cellar_house: CellarHouse
) -> None:
    house, wheel = cellar_house.served, cellar_house.cellar.wheels["24-09"]
    page = keeper(forgiven=f"{NETWORK}|status of 401")
    listen(page)
    signed_in = page.context.cookies()
    page.goto("/round")
    kept_by_worker(page)
    page.context.set_offline(True)
    line(page, wheel).get_by_role("button", name="Turned", exact=True).tap()
    expect(page.get_by_text("Saved on this phone.")).to_be_visible()
    page.context.clear_cookies()
    page.context.set_offline(False)
    page.goto("/round")
    expect(page.get_by_text("This is what the phone kept.")).to_be_visible()
    expect(page.get_by_text("1 entry waits on this phone until you sign in.")).to_be_visible()
    line(page, wheel).get_by_role("link", name="Note, photo").tap()
    page.locator("dialog[open]").get_by_label("Words").fill("entered while signed out")
    page.locator("dialog[open]").get_by_role("button", name="Keep", exact=True).tap()
    expect(page.get_by_text("2 entries wait on this phone until you sign in.")).to_be_visible()
    page.evaluate("navigator.serviceWorker.ready.then((own) => own.active.postMessage({rindwatch: 'keep'}))")
    page.goto(f"/at/{wheel}")
    expect(page.get_by_role("heading", name="24-09")).to_be_visible()
    page.locator("#waiting").get_by_role("link", name="Sign in").tap()
    expect(page.get_by_label("Password")).to_be_visible()
    page.context.add_cookies(signed_in)  # the test before types it; more tries a minute would be refused
    page.goto("/round")
    until(lambda: waiting_count(page) == 0, "not sent after signing in")
    notes = [e["body"]["text"] for e in book(house.settings, kind="note", wheel_id=wheel)]
    assert notes[-1] == "entered while signed out"


def test_what_the_house_flags_and_refuses_is_shown_and_decided(
    keeper: Callable[..., Page], cellar_house: CellarHouse
) -> None:
    page, cellar = keeper(forgiven="status of 4"), cellar_house.cellar
    listen(page)
    page.goto("/round")
    page.evaluate(
        """async (wheel) => {
        const {ids, outbox} = rindwatch;
        const common = () => ({id: ids.newId(), group_id: ids.newId(), ...outbox.stamp(), wheel_id: wheel});
        const entry = (body) => ({...common(), body});
        await outbox.save([entry({kind: "weighing", scale_g: 9000})], "24-10 weighed 9 kg");
        await outbox.save([entry({kind: "care", care: "Turned!"})], "24-10 sung to");
        await outbox.save([entry({kind: "care", care: "brushed"})], "24-10 brushed");
        }""",
        cellar.wheels["24-10"],
    )
    expect(page.get_by_text("1 entry needs a look. 1 entry was flagged.")).to_be_visible(timeout=15_000)
    page.locator("#waiting").get_by_role("link", name="Look").tap()
    expect(page.get_by_text("Heavier than before; was it wet, or on its board?")).to_be_visible()
    expect(page.get_by_text("This care: what was done cannot be kept as it stands. Enter it once more")).to_be_visible()
    exact = page.get_by_text("body.care.care: String should match pattern")
    expect(exact).to_be_hidden()
    picture(page, "waiting-odd")
    page.get_by_text("Details").tap()
    expect(exact).to_be_visible()
    expect(page.get_by_role("link", name="Enter it anew")).to_have_attribute("href", f"/at/{cellar.wheels['24-10']}")
    assert serious(page) == []
    page.get_by_role("button", name="Take it back: 24-10 weighed 9 kg").tap()
    page.on("dialog", lambda dialog: dialog.accept())
    page.get_by_role("button", name="Throw away: 24-10 sung to").tap()
    expect(page.get_by_text("Nothing waits: the house has everything.")).to_be_visible()
    weighed = book(cellar_house.served.settings, kind="weighing", wheel_id=cellar.wheels["24-10"])[-1]
    undone = [e["replaces"] for e in book(cellar_house.served.settings, kind="withdrawn")]
    assert weighed["id"] in undone
    assert book(cellar_house.served.settings, kind="care")[-1]["body"]["care"] == "brushed"
