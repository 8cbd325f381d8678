"""A house with a cellar full of wheels, and phones that walk the round in it."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import pytest
from playwright.sync_api import Browser, Page
from sqlalchemy import insert

from collector.clock import SystemClock
from collector.prepare import prepare
from collector.records.engine import open_records
from collector.records.tables import setting
from collector.settings import Settings
from dashboard.https.making import make
from tests.browser.rounds.cellar import Cellar, a_cellar
from tests.browser.walking import HOST, PHONE, Served, serving, set_password, sign_in


@dataclass(frozen=True, slots=True)
class CellarHouse:
    """A running dashboard over a cellar, and the cookies of its owner at both addresses."""

    served: Served
    cellar: Cellar
    state: dict[str, object]


def settings_like(served: Served, data: Settings) -> Settings:
    """A fresh house whose certificate is by the authority that the browser trusts already."""
    prepare(data)
    (data.data / "tls").mkdir(exist_ok=True)
    for name in ("authority.pem", "certificate.json"):
        (data.data / "tls" / name).write_bytes((served.settings.data / "tls" / name).read_bytes())
    key = "authority-key.pem"
    (data.secrets_folder / key).write_bytes((served.settings.secrets_folder / key).read_bytes())
    make(data, [HOST], [], SystemClock().now())
    engine = open_records(data.records_at)
    with engine.begin() as db:
        db.execute(insert(setting), [{"key": "household.time_zone", "value": "Pacific/Auckland"}])
    engine.dispose()
    return data


def owner_cookies(browser: Browser, house: Served) -> dict[str, object]:
    """Cookies of an owner who left the first steps, at both addresses."""
    cookies: list[object] = []
    for address in (house.http, house.https):
        context = browser.new_context(base_url=address, viewport=PHONE)
        page = context.new_page()
        if address == house.http:
            set_password(page, house.one_time_link())
            page.get_by_role("button", name="That is enough for now").click()
        else:
            sign_in(page)
        cookies += context.storage_state()["cookies"]
        context.close()
    return {"cookies": cookies, "origins": []}


@pytest.fixture(scope="module")
def cellar_house(browser: Browser, served: Served, tmp_path_factory: pytest.TempPathFactory) -> Iterator[CellarHouse]:
    """A house of the module's own, with two shelves of wheels that are late."""
    settings = settings_like(served, Settings(data=tmp_path_factory.mktemp("cellar")))
    engine = open_records(settings.records_at)
    cellar = a_cellar(engine)
    engine.dispose()
    running = serving(settings)
    house = next(running)
    yield CellarHouse(house, cellar, owner_cookies(browser, house))
    for _ended in running:
        raise AssertionError("the server was to end")


@pytest.fixture
def keeper(phone: Callable[..., Page], cellar_house: CellarHouse) -> Callable[..., Page]:
    """Opens a phone's window in which the owner of the cellar is signed in: keeper(dark=True, https=False)."""
    house = cellar_house.served
    return lambda dark=False, https=True, **more: phone(
        house.https if https else house.http, dark=dark, storage_state=cellar_house.state, **more
    )
