"""How warnings reach a person, walked on a phone: a way, a test, notifications, a snooze."""

import json
from collections.abc import Callable, Iterator

import pytest
from playwright.sync_api import Page, expect
from sqlalchemy import delete

from collector.clock import SystemClock
from collector.notify.channels import channels
from collector.records.engine import open_records
from collector.records.tables import notify_channel, warning
from tests.brokers import wait_for
from tests.browser.walking import Served, picture, serious, sign_in
from tests.collector.notify.phone import Phone
from tests.collector.notify.servers import wait_until, web_server
from tests.dashboard.dairy import a_place, a_warning

pytestmark = pytest.mark.browser
PAGE = "/settings/warnings"
TOLD = {
    "title": "Lower fridge: too damp", "body": "95 % over the last hour.", "tag": "t-1",
    "navigate": "https://elsewhere.example/more?from=push",
}  # fmt: skip
# A browser without a screen cannot subscribe: this stands in for its maker's service, and keeps what it is given.
FAKE_SERVICE = """
(() => {
  const KEYS = %s;
  const held = () => JSON.parse(localStorage.getItem("fake-subscription") || "null");
  const made = (kept) => kept && {
    endpoint: kept.endpoint, options: {applicationServerKey: Uint8Array.from(kept.key).buffer},
    toJSON: () => ({endpoint: kept.endpoint, keys: KEYS}),
    unsubscribe: async () => { localStorage.removeItem("fake-subscription"); return true; },
  };
  PushManager.prototype.getSubscription = async () => made(held());
  PushManager.prototype.subscribe = async ({userVisibleOnly, applicationServerKey}) => {
    if (!userVisibleOnly) throw new Error("silent pushes are not allowed");
    const kept = {endpoint: `https://push.example.org/${crypto.randomUUID()}`, key: [...applicationServerKey]};
    localStorage.setItem("fake-subscription", JSON.stringify(kept));
    return made(kept);
  };
})();
"""


@pytest.fixture(autouse=True)
def nothing_left(served: Served) -> Iterator[None]:
    yield
    engine = open_records(served.settings.records_at)
    with engine.begin() as db:
        db.execute(delete(notify_channel))
        db.execute(delete(warning))
    engine.dispose()


def test_a_web_address_is_added_and_its_test_arrives(owner: Callable[..., Page]) -> None:
    page = owner(https=False)
    page.goto("/more")
    page.get_by_role("link", name="How warnings reach you").click()
    expect(page.get_by_text("No warning reaches anybody yet")).to_be_visible()
    page.get_by_role("link", name="A web address of your own").click()
    with web_server() as server:
        page.get_by_label("Address", exact=True).fill(f"http://127.0.0.1:{server.port}/lamp")
        page.get_by_label("What to call it here").fill("Workshop lamp")
        picture(page, "warnings-add-webhook")
        assert serious(page) == []
        page.get_by_role("button", name="Keep it").click()
        expect(page.get_by_text("shown only this once")).to_be_visible()
        card = page.locator(".card", has_text="Workshop lamp")
        expect(card.get_by_text("Never tried")).to_be_visible()
        card.get_by_role("button", name="Send a test").click()
        wait_until(lambda: bool(server.requests))
        expect(page.get_by_text("A test was sent on Workshop lamp.")).to_be_visible()
    assert json.loads(server.requests[0].body)["kind"] == "test"
    expect(page.locator(".card", has_text="Workshop lamp").get_by_text("Worked")).to_be_visible()
    picture(page, "warnings-ways")
    assert serious(page) == []
    assert page.evaluate("document.documentElement.scrollWidth") <= 390


def test_plain_http_says_what_is_missing_for_notifications(owner: Callable[..., Page]) -> None:
    page = owner(https=False)
    page.goto(PAGE)
    expect(page.get_by_text("This phone cannot take them here yet.")).to_be_visible()
    expect(page.get_by_text("A trusted connection: https")).to_be_visible()
    expect(page.get_by_role("button", name="Switch on for this phone")).to_be_hidden()
    expect(page.get_by_role("link", name="Set up this phone")).to_be_visible()


def test_notifications_are_off_until_a_tap_and_mend_themselves(owner: Callable[..., Page], served: Served) -> None:
    page = owner()
    keys = Phone().subscription("")["keys"]
    page.context.add_init_script(FAKE_SERVICE % json.dumps(keys))
    page.context.grant_permissions(["notifications"], origin=served.https)
    page.goto(PAGE)
    expect(page.get_by_role("button", name="Switch on for this phone")).to_be_visible()
    assert page.evaluate("localStorage.getItem('fake-subscription')") is None
    page.get_by_role("button", name="Switch on for this phone").click()
    expect(page.get_by_text("On: warnings come to this phone.")).to_be_visible()
    first = page.evaluate("JSON.parse(localStorage.getItem('fake-subscription')).endpoint")
    page.reload()
    expect(page.locator(".card", has_text="Keeper's phone")).to_be_visible()
    picture(page, "warnings-push-on")
    assert serious(page) == []
    # The browser drops the subscription without a word; any page finds out and makes a new one.
    page.evaluate("localStorage.removeItem('fake-subscription')")
    page.goto("/more")
    wait_for(lambda: page.evaluate("localStorage.getItem('fake-subscription') !== null"), what="a new subscription")
    assert page.evaluate("JSON.parse(localStorage.getItem('fake-subscription')).endpoint") != first
    page.goto(PAGE)
    page.get_by_role("button", name="Switch off for this phone").click()
    expect(page.get_by_role("button", name="Switch on for this phone")).to_be_visible()
    assert page.evaluate("localStorage.getItem('fake-subscription')") is None


def test_a_phone_that_is_signed_out_is_told_no_more(
    phone: Callable[..., Page], served: Served, owner_state: object
) -> None:
    assert owner_state  # the owner has a password by now
    page = phone(served.https)
    page.context.add_init_script(FAKE_SERVICE % json.dumps(Phone().subscription("")["keys"]))
    page.context.grant_permissions(["notifications"], origin=served.https)
    sign_in(page)
    page.goto(PAGE)
    page.get_by_role("button", name="Switch on for this phone").click()
    expect(page.get_by_text("On: warnings come to this phone.")).to_be_visible()
    page.goto("/settings")
    expect(page.get_by_text("Signing out also ends the notifications of that phone.")).to_be_visible()
    page.get_by_role("button", name="Sign out here").click()
    expect(page.get_by_text("Warnings no longer come to this phone")).to_be_visible()
    picture(page, "signed-out-of-warnings")
    assert serious(page) == []
    engine = open_records(served.settings.records_at)
    with engine.connect() as db:
        assert channels(db) == []
    engine.dispose()


def test_a_push_is_shown_by_the_worker_and_a_later_one_replaces_it(owner: Callable[..., Page], served: Served) -> None:
    page = owner()
    page.context.grant_permissions(["notifications"], origin=served.https)
    page.goto(PAGE)
    page.evaluate("navigator.serviceWorker.ready.then(() => true)")
    session = page.context.new_cdp_session(page)
    known: list[str] = []
    session.on(
        "ServiceWorker.workerRegistrationUpdated",
        lambda event: known.extend(r["registrationId"] for r in event["registrations"] if not r["isDeleted"]),
    )
    session.send("ServiceWorker.enable")

    def deliver(data: str) -> None:
        page.wait_for_timeout(50)
        session.send(
            "ServiceWorker.deliverPushMessage", {"origin": served.https, "registrationId": known[-1], "data": data}
        )

    def shown() -> list[dict[str, str]]:
        found: list[dict[str, str]] = page.evaluate(
            """async () => (await (await navigator.serviceWorker.ready).getNotifications())
            .map((one) => ({title: one.title, body: one.body, tag: one.tag, navigate: one.data.navigate}))"""
        )
        return found

    deliver(json.dumps({"web_push": 8030, "notification": TOLD}))
    wait_until(lambda: shown() == [TOLD])
    later = TOLD | {"title": "Lower fridge: all clear"}
    deliver(json.dumps({"web_push": 8030, "notification": later}))
    wait_until(lambda: shown() == [later])
    deliver("no message of ours")
    wait_until(lambda: "rindwatch: a warning" in [one["title"] for one in shown()])


def test_an_open_warning_is_snoozed_and_woken(owner: Callable[..., Page], served: Served) -> None:
    engine = open_records(served.settings.records_at)
    with engine.begin() as db:
        now_at = SystemClock().now()
        warning_id = a_warning(db, place_id=a_place(db, f"Fridge {now_at:%f}"), opened_at=now_at, found_at=now_at)
    engine.dispose()
    page = owner()
    page.goto(f"/warnings/{warning_id}")
    page.get_by_text("Snooze", exact=True).click()
    page.get_by_label("How long?").select_option("4 hours")
    picture(page, "warning-snooze")
    assert serious(page) == []
    page.get_by_role("button", name="Snooze it").click()
    expect(page.get_by_text("Snoozed until")).to_be_visible()
    page.goto(PAGE)
    card = page.locator("#snoozed")
    expect(card.get_by_text("Snoozed until")).to_be_visible()
    card.get_by_role("button", name="Tell of it again").click()
    expect(page.locator("#snoozed").get_by_text("Nothing.")).to_be_visible()
