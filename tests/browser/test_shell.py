"""The shell on a phone: its looks, signing in, setting up, and what is left without the server."""

import re
from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from collector.clock import SystemClock
from collector.prepare import prepare
from collector.settings import Settings
from dashboard.https.making import make
from tests.browser.walking import HOST, PASSWORD, Served, flaws, serious, serving, set_password, sign_in

pytestmark = pytest.mark.browser
OWN_PAGES = ("/more", "/settings", "/settings/https", "/phone", "/begin")
PUBLIC_PAGES = ("/sign-in", "/phone/certificate", "/offline", "/first/gone")


@pytest.mark.parametrize("path", OWN_PAGES)
def test_an_owners_page_can_be_read_in_light_and_dark_and_touched(owner: Callable[..., Page], path: str) -> None:
    # Over https the page of this phone loads itself anew as soon as it has found out what the phone can do.
    page = owner(https=path != "/phone")
    page.goto(path)
    page.wait_for_load_state("networkidle")
    assert flaws(page, path.strip("/").replace("/", "-")) == []


@pytest.mark.parametrize("path", PUBLIC_PAGES)
def test_a_public_page_can_be_read_in_light_and_dark_and_touched(
    phone: Callable[..., Page], served: Served, path: str
) -> None:
    page = phone(served.https)
    page.goto(path)
    assert flaws(page, f"public-{path.strip('/').replace('/', '-')}") == []


def test_a_page_that_asks_for_a_sign_in_comes_after_it(
    phone: Callable[..., Page], served: Served, owner_state: dict[str, object]
) -> None:
    page = phone(served.http)
    page.goto("/settings?from=test")
    page.get_by_label("Name").fill("Keeper")
    page.get_by_label("Password").fill("not the password")
    page.get_by_role("button", name="Sign in").click()
    expect(page.get_by_text("do not belong together")).to_be_visible()
    expect(page.get_by_label("Name")).to_have_value("Keeper")
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    page.wait_for_url("**/settings?from=test")


def test_a_lost_phone_is_signed_out_from_another(
    owner: Callable[..., Page], phone: Callable[..., Page], served: Served
) -> None:
    keeper = owner()
    lost = phone(served.https, user_agent="Mozilla/5.0 (Linux; Android 15) Chrome/156.0 Mobile Safari/537.36")
    sign_in(lost)
    keeper.goto("/settings")
    line = keeper.locator(".device", has_text="Android phone or tablet, Chrome").first
    line.locator("summary").click()
    line.get_by_role("button", name="Sign it out").click()
    expect(keeper.get_by_text("That device is signed out.")).to_be_visible()
    lost.goto("/more")
    lost.wait_for_url("**/sign-in?next=*")


def test_the_household_is_changed_and_told(owner: Callable[..., Page]) -> None:
    page = owner(https=False)
    page.goto("/settings")
    page.get_by_label("Name of your dairy").fill("Quiet Hollow <b>Dairy</b>")
    page.get_by_label("Time zone").fill("Europe/Nowhere")
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_text("No such time zone: Europe/Nowhere").first).to_be_visible()
    expect(page.get_by_label("Name of your dairy")).to_have_value("Quiet Hollow <b>Dairy</b>")
    page.get_by_label("Time zone").fill("Europe/Zurich")
    page.get_by_text("°F", exact=True).click()
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_role("status").filter(has_text="Saved.")).to_be_visible()
    expect(page).to_have_title(re.compile("Quiet Hollow <b>Dairy</b>"))
    page.reload()
    expect(page.get_by_text("Saved.")).to_have_count(0)


def test_plain_http_says_what_the_phone_lacks(owner: Callable[..., Page]) -> None:
    page = owner(https=False)
    page.goto("/settings")
    expect(page.locator('[data-feature="secure"] [data-lacking]')).to_be_visible()
    expect(page.locator('[data-feature="worker"] [data-lacking]')).to_be_visible()
    expect(page.locator('[data-feature="storage"] .mark.good')).to_be_visible()


def test_a_phone_that_trusts_the_house_is_ticked_off(owner: Callable[..., Page]) -> None:
    page = owner()
    page.goto("/phone")
    expect(page.locator('[data-step="trusted"].done')).to_be_visible(timeout=20_000)
    expect(page.locator('[data-step="offline"].done')).to_be_visible()
    expect(page.locator('[data-step="installed"].open')).to_be_visible()


def test_the_certificate_is_taken_without_signing_in(phone: Callable[..., Page], served: Served) -> None:
    page = phone(served.http)
    page.goto("/phone/certificate")
    with page.expect_download() as download:
        page.get_by_role("link", name="Take the certificate").click()
    assert download.value.suggested_filename == "rindwatch.crt"


def test_pages_work_without_script(browser: Browser, served: Served, owner_state: dict[str, object]) -> None:
    context = browser.new_context(base_url=served.http, java_script_enabled=False)
    page = context.new_page()
    sign_in(page)
    page.goto("/settings")
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_text("Saved.")).to_be_visible()
    page.get_by_role("button", name="Sign out here").click()
    expect(page).to_have_url(re.compile("/sign-in$"))
    context.close()


def test_a_first_start_leads_to_a_phone_that_opens_without_the_server(
    phone: Callable[..., Page], served: Served, tmp_path: Path
) -> None:
    """A house of its own, whose server is stopped; its certificate is by the authority that the browser trusts."""
    settings = Settings(data=tmp_path)
    prepare(settings)
    for name in ("authority.pem", "certificate.json"):
        (tmp_path / "tls").mkdir(exist_ok=True)
        (tmp_path / "tls" / name).write_bytes((served.settings.data / "tls" / name).read_bytes())
    key = "authority-key.pem"
    (settings.secrets_folder / key).write_bytes((served.settings.secrets_folder / key).read_bytes())
    make(settings, [HOST], [], SystemClock().now())
    running = serving(settings)
    house = next(running)
    page = phone(house.https)
    set_password(page, house.one_time_link())
    page.wait_for_url("**/begin")
    page.get_by_role("link", name="Say how you measure").click()
    page.get_by_role("button", name="Save").click()
    page.goto("/phone")
    expect(page.locator('[data-step="offline"].done')).to_be_visible(timeout=20_000)
    page.goto("/begin")
    expect(page.locator(".steps .done")).to_have_count(3)
    page.get_by_role("button", name="That is enough for now").click()
    page.wait_for_url("**/caves")
    for _ended in running:
        raise AssertionError("the server was to end")
    page.goto("/settings")
    expect(page.get_by_role("heading", name="The house does not answer")).to_be_visible()
    assert serious(page) == []
