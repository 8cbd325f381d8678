"""The camera with the last photo faintly over its picture, where a page may have it; else the phone's own camera."""

import os
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, Playwright, expect

from dashboard.https import kept as kept_files
from tests.browser.rounds.chaos import NETWORK, kept_by_worker
from tests.browser.rounds.conftest import CellarHouse
from tests.browser.rounds.test_round import a_photo
from tests.browser.rounds.thumb import all_sent, book, kept, listen, until, waiting_count
from tests.browser.walking import HOST, PHONE, SCREENSHOTS, Served, serious, trust

pytestmark = pytest.mark.browser
FAKE_CAMERA = ("--use-fake-device-for-media-stream", "--use-fake-ui-for-media-stream")


@pytest.fixture(scope="module")
def camera_browser(
    playwright: Playwright, chromium: Path, served: Served, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[Browser]:
    """A browser with a camera that shows a moving test picture, and is granted to whoever asks."""
    home = tmp_path_factory.mktemp("camera")
    trust(home, kept_files.places(served.settings).authority)
    running = playwright.chromium.launch(
        executable_path=str(chromium), env={**os.environ, "HOME": str(home)},
        args=["--no-sandbox", "--disable-gpu", f"--host-resolver-rules=MAP {HOST} 127.0.0.1", *FAKE_CAMERA],
    )  # fmt: skip
    yield running
    running.close()


def test_the_last_photo_lies_faintly_over_the_camera_with_a_signal_and_without(
    camera_browser: Browser, cellar_house: CellarHouse
) -> None:
    house, wheel = cellar_house.served, cellar_house.cellar.wheels["24-12"]
    context = camera_browser.new_context(
        base_url=house.https, viewport=PHONE, has_touch=True, is_mobile=True, storage_state=cellar_house.state
    )
    page = context.new_page()
    page.set_default_timeout(10_000)
    listen(page)
    note(page, wheel)
    page.locator('#note input[name="photo"][multiple]').set_input_files(
        files=[{"name": "rind.jpg", "mimeType": "image/jpeg", "buffer": a_photo()}]
    )
    with kept(page):
        page.locator("#note").get_by_role("button", name="Keep", exact=True).tap()
    page.goto("/round")
    page.evaluate("navigator.serviceWorker.ready.then((own) => own.active.postMessage({rindwatch: 'keep'}))")
    kept_by_worker(page)
    until(lambda: page.evaluate(PHOTO_KEPT), "the last photo is not kept")
    page.context.set_offline(True)
    note(page, wheel)
    page.locator("#note").get_by_text("Take a photo").tap()
    dialog = page.locator("dialog.camera")
    ghost = dialog.get_by_alt_text("The last photo, faintly")
    expect(ghost).to_be_visible()
    until(lambda: ghost.evaluate("(img) => img.naturalWidth") == 360, "the last photo is not drawn")
    assert float(ghost.evaluate("(img) => getComputedStyle(img).opacity")) == pytest.approx(0.35)
    until(lambda: dialog.locator("video").evaluate("(video) => video.videoWidth > 0"), "no picture from the camera")
    SCREENSHOTS.mkdir(exist_ok=True)
    page.screenshot(path=SCREENSHOTS / "camera.png")
    assert serious(page) == []
    dialog.get_by_role("button", name="Take it").tap()
    expect(dialog.get_by_text("1 taken.")).to_be_visible()
    dialog.get_by_role("button", name="Take it").tap()
    expect(dialog.get_by_text("2 taken.")).to_be_visible()
    dialog.get_by_role("button", name="Without the last one").tap()
    expect(ghost).to_be_hidden()
    dialog.get_by_role("button", name="Done").tap()
    off = "document.querySelector('dialog.camera video').srcObject.active === false"
    until(lambda: page.evaluate(off), "the camera stays on")
    page.get_by_role("button", name="Take photo 1 away").tap()
    expect(page.get_by_text("1 photo taken; Keep saves it.")).to_be_visible()
    page.screenshot(path=SCREENSHOTS / "camera-taken.png")
    page.locator("#note").get_by_role("button", name="Keep", exact=True).tap()
    until(lambda: waiting_count(page) == 2, "note and photo wait")
    page.context.set_offline(False)
    all_sent(page)
    first, second = book(house.settings, kind="note", wheel_id=wheel)[-2:]
    assert [len(one["body"]["photos"]) for one in (first, second)] == [1, 1]
    context.close()


PHOTO_KEPT = """async () => {
  const {wheels} = await (await caches.match("/round/kept.json")).json();
  const photo = Object.values(wheels).find((wheel) => wheel.photo)?.photo;
  return Boolean(photo && await caches.match(photo));
}"""


def note(page: Page, wheel: str) -> None:
    page.goto(f"/at/{wheel}")
    expect(page.locator("#note")).to_be_visible()


def test_without_a_camera_for_pages_the_phones_own_one_takes_several(
    keeper: Callable[..., Page], cellar_house: CellarHouse
) -> None:
    wheel = cellar_house.cellar.wheels["24-11"]
    http = keeper(https=False)
    listen(http)
    note(http, wheel)
    for number in (1, 2):
        with http.expect_file_chooser() as chooser:
            http.locator("#note").get_by_text("Take a photo").tap()
        chooser.value.set_files(files=[{"name": "a.jpg", "mimeType": "image/jpeg", "buffer": a_photo()}])
        expect(http.get_by_text(f"{number} photo")).to_be_visible()
    with kept(http):
        http.locator("#note").get_by_role("button", name="Keep", exact=True).tap()
    assert len(book(cellar_house.served.settings, kind="note", wheel_id=wheel)[-1]["body"]["photos"]) == 2


def test_a_camera_that_is_refused_gives_way_to_the_phones_own(
    keeper: Callable[..., Page], cellar_house: CellarHouse
) -> None:
    page = keeper(forgiven=NETWORK)
    note(page, cellar_house.cellar.wheels["24-11"])
    page.locator("#note").get_by_text("Take a photo").tap()
    expect(page.get_by_text("Touch once more for the phone's own.")).to_be_visible()
    with page.expect_file_chooser():
        page.locator("#note").get_by_text("Take a photo").tap()
