"""People, passkeys, programs, changes, copies and keeping, each walked once on a phone, in one house of their own."""

import re
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from urllib.parse import urlsplit
from urllib.request import Request, urlopen

import pytest
import zxingcpp
from PIL import Image
from playwright.sync_api import Browser, Page, expect

from collector.readings.model import Arrival, Sample
from collector.readings.store import SqliteReadings
from collector.records.columns import to_ms
from collector.settings import Settings
from tests.browser.rounds.conftest import owner_cookies, settings_like
from tests.browser.walking import PASSWORD, SCREENSHOTS, WAIT_S, Served, picture, serious, serving

pytestmark = pytest.mark.browser


@pytest.fixture(scope="module")
def house(browser: Browser, served: Served, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """A house of the module's own, with a year of one reading a day."""
    settings = settings_like(served, Settings(data=tmp_path_factory.mktemp("people")))
    store = SqliteReadings(settings.readings_path)
    for day in range(400):
        at_ms = to_ms(datetime.now(UTC) - timedelta(days=day))
        store.add([Arrival("old", "old", at_ms, (Sample("temperature", at_ms, 11.5, "Cel", None),))])
    store.close()
    running = serving(settings)
    yield next(running)
    for _ended in running:
        raise AssertionError("the server was to end")


@pytest.fixture(scope="module")
def state(browser: Browser, house: Served) -> dict[str, object]:
    return owner_cookies(browser, house)


@pytest.fixture
def keeper(phone: Callable[..., Page], house: Served, state: dict[str, object]) -> Page:
    return phone(house.https, storage_state=state)


def looked_at(page: Page, name: str) -> None:
    """A picture in light and one in dark; axe finds nothing serious in either."""
    for scheme in ("light", "dark"):
        page.emulate_media(color_scheme=scheme)  # type: ignore[arg-type]
        picture(page, f"{name}-{scheme}")
        assert serious(page) == [], f"{name}, {scheme}"


def invited(keeper: Page, name: str, role: str) -> str:
    """Add somebody and make the invitation; returns the link, which its square says too."""
    keeper.goto("/settings/people")
    keeper.get_by_label("Name").fill(name)
    keeper.get_by_label(re.compile(role)).check()
    keeper.get_by_role("button", name="Add").click()
    keeper.get_by_role("button", name="Make the invitation").click()
    link = keeper.locator("code", has_text="/first/").inner_text()
    keeper.locator("main svg").last.screenshot(path=SCREENSHOTS / "invitation-square.png")
    assert [one.text for one in zxingcpp.read_barcodes(Image.open(SCREENSHOTS / "invitation-square.png"))] == [link]
    return link


def taken(page: Page, link: str) -> None:
    page.goto(link)
    page.get_by_label("Password", exact=True).fill(PASSWORD)
    page.get_by_label("The same once more").fill(PASSWORD)
    page.get_by_role("button", name="Keep it").click()
    page.wait_for_url(lambda url: "/first/" not in url)


def test_somebody_is_invited_works_along_and_is_sent_away(
    keeper: Page, phone: Callable[..., Page], house: Served
) -> None:
    helper, guest = phone(house.https, forgiven="status of 403"), phone(house.https, forgiven="status of 403")
    taken(helper, invited(keeper, "Neighbour", "Helper"))
    looked_at(keeper, "invitation")
    helper.goto("/readings/type")
    expect(helper.get_by_role("heading", name="Type a reading")).to_be_visible()
    taken(guest, invited(keeper, "Aunt", "Guest"))
    for path in ("/wheels", "/probes", "/more", "/settings"):
        guest.goto(path)
        assert guest.locator("main form:not([action='/sign-out'], [method='get'])").count() == 0, path
        assert guest.locator("main a[href='/readings/type'], main a[href='/wheels/add']").count() == 0, path
    assert guest.goto("/readings/type").status == 403  # type: ignore[union-attr]
    keeper.goto("/settings/people")
    looked_at(keeper, "people")
    keeper.get_by_role("link", name="Neighbour").click()
    looked_at(keeper, "person")
    keeper.get_by_text("End this access now").click()
    keeper.get_by_role("button", name="End it").click()
    expect(keeper.get_by_text("cannot come in any more")).to_be_visible()
    helper.goto("/readings/type")
    expect(helper).to_have_url(re.compile("/sign-in"))


def test_a_program_gets_a_token_that_is_shown_once(keeper: Page, house: Served) -> None:
    keeper.goto("/settings/programs")
    keeper.get_by_label("What is it for?").fill("screen in the hall")
    keeper.get_by_role("button", name="Make a token").click()
    token = keeper.locator("[data-secret]").inner_text()
    looked_at(keeper, "programs")
    asked = Request(
        f"http://127.0.0.1:{urlsplit(house.http).port}/api/places", headers={"Authorization": f"Bearer {token}"}
    )
    with urlopen(asked, timeout=WAIT_S) as answer:
        assert answer.status == 200
    keeper.goto("/settings/programs")
    assert token not in keeper.content()
    expect(keeper.locator("li.device", has_text="screen in the hall")).to_contain_text(
        re.compile("last used (just now|.* s)")
    )
    keeper.goto("/settings/changes?kind=people")
    expect(keeper.locator("li.device", has_text="program screen in the hall")).to_contain_text("Keeper")
    looked_at(keeper, "changes")


def test_a_place_for_copies_is_refused_then_taken(keeper: Page, house: Served) -> None:
    keeper.goto("/settings/copies")
    keeper.get_by_label("a folder").check()
    keeper.get_by_label("Folder or address").fill("usb/rindwatch")
    keeper.get_by_role("button", name="Save and send a copy").click()
    expect(keeper.get_by_label("Folder or address")).to_have_value("usb/rindwatch")
    keeper.get_by_label("Folder or address").fill(str(house.settings.data.parent / "copies"))
    keeper.get_by_role("button", name="Save and send a copy").click()
    expect(keeper.get_by_text("A copy is on its way there")).to_be_visible()
    looked_at(keeper, "copies")


def test_what_would_go_is_shown_before_it_goes(keeper: Page) -> None:
    keeper.goto("/settings/keeping")
    keeper.get_by_label("for one year").check()
    keeper.get_by_role("button", name="Show what would go").click()
    expect(keeper.get_by_text("It cannot be undone")).to_be_visible()
    looked_at(keeper, "keeping")
    keeper.get_by_role("button", name="Keep them for one year").click()
    expect(keeper.get_by_text("Readings are kept one by one for one year.")).to_be_visible()


def test_a_passkey_is_made_with_the_password_and_signs_in_without(keeper: Page, house: Served) -> None:
    authenticator = {
        "protocol": "ctap2", "transport": "internal", "hasResidentKey": True, "hasUserVerification": True,
        "isUserVerified": True, "automaticPresenceSimulation": True,
    }  # fmt: skip
    devtools = keeper.context.new_cdp_session(keeper)
    devtools.send("WebAuthn.enable")
    made = devtools.send("WebAuthn.addVirtualAuthenticator", {"options": authenticator})["authenticatorId"]
    keeper.goto("/settings/sign-in")
    keeper.get_by_label("Name", exact=True).fill("my phone")
    keeper.get_by_label("Your password, once more").fill(PASSWORD)
    keeper.get_by_role("button", name="Go on").click()
    looked_at(keeper, "passkey-make")
    keeper.get_by_role("button", name="Make it now").click()
    expect(keeper.locator("li.device", has_text="my phone")).to_contain_text("not used yet")
    looked_at(keeper, "my-sign-in")
    keeper.context.clear_cookies()
    keeper.goto("/settings/sign-in")
    looked_at(keeper, "sign-in-passkey")
    keeper.get_by_role("button", name="Sign in with a passkey").click()
    expect(keeper).to_have_url(f"{house.https}/settings/sign-in")
    expect(keeper.locator("li.device", has_text="my phone")).to_contain_text("last used just now")
    [kept] = devtools.send("WebAuthn.getCredentials", {"authenticatorId": made})["credentials"]
    assert (kept["rpId"], kept["isResidentCredential"]) == ("cave.home.arpa", True)


def test_at_plain_http_the_page_says_where_passkeys_work(
    phone: Callable[..., Page], house: Served, state: dict[str, object]
) -> None:
    page = phone(house.http, storage_state=state)
    page.goto("/settings/sign-in")
    expect(page.get_by_text("Passkeys need https and a name")).to_be_visible()
    expect(page.get_by_role("link", name=f"open {house.https}")).to_be_visible()
