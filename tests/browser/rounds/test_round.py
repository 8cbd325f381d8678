"""The round by one thumb: touches counted, entries read from the book, undo, and the same without script."""

import io
from collections.abc import Callable

import pytest
from PIL import Image
from playwright.sync_api import Browser, Page, expect

from tests.browser.rounds.conftest import CellarHouse
from tests.browser.rounds.thumb import book, counting, kept, line, listen, type_keys, until

pytestmark = pytest.mark.browser
OVER = pytest.mark.parametrize("https", [True, False], ids=["https", "http"])


def opened(keeper: Callable[..., Page], https: bool = True) -> Page:
    page = keeper(https=https)
    listen(page)
    page.goto("/round")
    until(lambda: bool(page.evaluate("document.documentElement.dataset.painted")), "the marks were not laid over")
    return page


@OVER
def test_a_shelf_of_twelve_is_turned_in_one_touch_and_taken_back_in_one(
    keeper: Callable[..., Page], cellar_house: CellarHouse, https: bool
) -> None:
    page, settings = opened(keeper, https), cellar_house.served.settings
    before = len(book(settings, kind="care"))
    touches = counting(page)
    left = page.locator(f"#s-{cellar_house.cellar.shelves[0]}")
    expect(left.locator(".late-count")).to_be_visible()
    with kept(page):
        left.get_by_role("button", name="Turned all", exact=True).tap()
        expect(page.get_by_text("Left shelf, 12 wheels: Turned. ")).to_be_visible()
        assert touches() == 1
    made = book(settings, kind="care")[before:]
    assert len(made) == 12
    assert {entry["body"]["care"] for entry in made} == {"turned"}
    assert len({entry["wheel_id"] for entry in made}) == 12
    assert len({entry["group_id"] for entry in made}) == 1
    expect(left.locator(".late-count")).to_be_hidden()
    with kept(page):
        page.locator("#waiting").get_by_role("button", name="Undo").tap()
        expect(page.get_by_text("Taken back: Left shelf, 12 wheels: Turned. ")).to_be_visible()
    undone = book(settings, kind="withdrawn")[-12:]
    assert {entry["replaces"] for entry in undone} == {entry["id"] for entry in made}
    page.reload()
    expect(left.locator(".late-count")).to_be_visible()


def test_all_but_this_one_takes_two_touches(keeper: Callable[..., Page], cellar_house: CellarHouse) -> None:
    page, settings = opened(keeper), cellar_house.served.settings
    wheels, right = cellar_house.cellar.wheels, page.locator(f"#s-{cellar_house.cellar.shelves[1]}")
    before = len(book(settings, kind="care"))
    touches = counting(page)
    line(page, wheels["24-15"]).locator("label.in").tap()
    with kept(page):
        right.get_by_role("button", name="Turned all, nothing new").tap()
        expect(page.get_by_text("Right shelf, 4 wheels: Turned, nothing new. ")).to_be_visible()
        assert touches() == 2
    made = book(settings, kind="care")[before:]
    assert {entry["wheel_id"] for entry in made} == {wheels[f"24-{n}"] for n in (13, 14, 16, 17)}
    assert all(entry["body"] == {"kind": "care", "care": "turned", "nothing_new": True} for entry in made)
    expect(line(page, wheels["24-14"]).locator("[data-did]")).to_contain_text("turned, nothing new")
    expect(line(page, wheels["24-14"]).locator('[data-due="turned"]')).to_be_hidden()
    expect(line(page, wheels["24-15"]).locator('[data-due="turned"]')).to_be_visible()
    page.reload()
    expect(line(page, wheels["24-15"]).locator('[data-due="turned"]')).to_be_visible()
    expect(line(page, wheels["24-14"]).locator('[data-due="turned"]')).to_have_count(0)


@OVER
def test_a_weighing_from_the_open_round_takes_two_touches_and_its_digits(
    keeper: Callable[..., Page], cellar_house: CellarHouse, https: bool
) -> None:
    page, settings = opened(keeper, https), cellar_house.served.settings
    wheel = cellar_house.cellar.wheels["24-03" if https else "24-04"]
    touches = counting(page)
    line(page, wheel).get_by_role("link", name="Weigh").tap()
    expect(page.locator("dialog[open]").get_by_text("Last: 2.10 kg on")).to_be_visible()
    type_keys(page, "2860")
    with kept(page):
        page.locator("dialog[open]").get_by_role("button", name="Keep", exact=True).tap()
        expect(page.locator("dialog[open]")).to_have_count(0)
        assert touches() == 2  # the board was remembered; the promise is four
        expect(page.get_by_text("weighed 2.06 kg. ")).to_be_visible()
    body = book(settings, kind="weighing", wheel_id=wheel)[-1]["body"]
    assert body["scale_g"] == 2860
    assert body["tare_g"] == 800
    assert body["board_id"] == cellar_house.cellar.board
    assert body["step_g"] == 5
    assert body["typed"] == "2860 g"


def test_a_wet_wheel_on_no_board_takes_four_touches_in_pounds(
    keeper: Callable[..., Page], cellar_house: CellarHouse
) -> None:
    page, wheel = opened(keeper), cellar_house.cellar.wheels["24-05"]
    line(page, wheel).get_by_role("link", name="Weigh").tap()
    dialog = page.locator("dialog[open]")
    dialog.get_by_label("lb, oz").tap()
    dialog.get_by_label("It is wet").tap()
    dialog.get_by_label("On which board").select_option(label="no board")
    type_keys(page, "4")
    page.locator('dialog[open] [data-key="point"]').tap()
    type_keys(page, "11")
    with kept(page):
        dialog.get_by_role("button", name="Keep", exact=True).tap()
    body = book(cellar_house.served.settings, kind="weighing", wheel_id=wheel)[-1]["body"]
    # 4 lb 11 oz in grams by the definition of the pound (NIST SP 811, appendix B.8).
    assert body["scale_g"] == pytest.approx(4 * 453.59237 + 11 * 28.349523125)
    assert body["wet"] is True
    assert "board_id" not in body


def test_an_odd_weight_is_asked_about_and_kept_when_insisted(
    keeper: Callable[..., Page], cellar_house: CellarHouse
) -> None:
    page, wheel = opened(keeper), cellar_house.cellar.wheels["24-06"]
    line(page, wheel).get_by_role("link", name="Weigh").tap()
    dialog = page.locator("dialog[open]")
    type_keys(page, "3900")
    dialog.get_by_role("button", name="Keep", exact=True).tap()
    expect(dialog.get_by_text("3.10 kg after 2.10 kg on")).to_be_visible()
    page.locator('dialog[open] [data-key="back"]').tap()
    expect(dialog.locator("[data-doubt]")).to_be_hidden()
    type_keys(page, "0")
    dialog.get_by_role("button", name="Keep", exact=True).tap()
    with kept(page):
        dialog.get_by_role("button", name="Keep it as typed").tap()
    found = book(cellar_house.served.settings, kind="weighing", wheel_id=wheel)[-1]
    assert found["body"]["insisted"] is True
    assert found["flags"] == ["kept_as_typed"]


def test_one_weighs_down_a_shelf_wheel_by_wheel(keeper: Callable[..., Page], cellar_house: CellarHouse) -> None:
    page, wheels = opened(keeper), cellar_house.cellar.wheels
    line(page, wheels["24-07"]).get_by_role("link", name="Weigh").tap()
    for code, grams in (("24-07", "2850"), ("24-08", "2840")):
        expect(page.get_by_role("heading", name=f"Weigh {code}")).to_be_visible()
        with kept(page):
            type_keys(page, grams)
            page.locator("dialog[open]").get_by_role("button", name="Keep, next wheel").tap()
    expect(page.get_by_role("heading", name="Weigh 24-09")).to_be_visible()
    page.locator("dialog[open]").get_by_role("button", name="Close").tap()
    settings = cellar_house.served.settings
    assert [book(settings, kind="weighing", wheel_id=wheels[c])[-1]["body"]["scale_g"] for c in ("24-07", "24-08")] == [
        2850, 2840,
    ]  # fmt: skip


def test_a_note_takes_a_word_of_ones_own_and_a_photo(keeper: Callable[..., Page], cellar_house: CellarHouse) -> None:
    page, wheel = opened(keeper), cellar_house.cellar.wheels["24-09"]
    line(page, wheel).get_by_role("link", name="Note, photo").tap()
    dialog = page.locator("dialog[open]")
    dialog.get_by_label("What is it").select_option(label="a word of my own...")
    dialog.get_by_label("Your own word for it").fill("moon craters")
    dialog.get_by_label("a little").tap()
    dialog.get_by_label("bottom").tap()
    dialog.locator('input[name="photo"][multiple]').set_input_files(
        files=[{"name": "rind.jpg", "mimeType": "image/jpeg", "buffer": a_photo()}]
    )
    expect(dialog.get_by_text("1 photo taken")).to_be_visible()
    with kept(page):
        dialog.get_by_role("button", name="Keep", exact=True).tap()
        expect(dialog).to_have_count(0)
    settings = cellar_house.served.settings
    note, word = book(settings, kind="rind_note", wheel_id=wheel)[-1], book(settings, kind="own_kind")[-1]
    assert word["body"]["word"] == "moon craters"
    assert note["body"]["note"] == word["body"]["name"]
    assert (note["body"]["how_much"], note["body"]["where"]) == (2, "bottom")
    assert note["flags"] == []
    assert len(note["body"]["photos"]) == 1
    page.reload()
    expect(line(page, wheel).get_by_text("moon craters")).to_be_visible()


def a_photo() -> bytes:
    """A picture of six million pixels, as a camera makes it."""
    out = io.BytesIO()
    Image.new("RGB", (3_000, 2_000), (200, 140, 40)).save(out, "JPEG", quality=90)
    return out.getvalue()


def test_missed_turns_are_left_and_counting_starts_today(
    keeper: Callable[..., Page], cellar_house: CellarHouse
) -> None:
    page, wheel = opened(keeper), cellar_house.cellar.wheels["24-15"]
    right = page.locator(f"#s-{cellar_house.cellar.shelves[1]}")
    expect(line(page, wheel).locator(".due.overdue")).to_be_visible()
    right.get_by_text("More for the whole shelf").tap()
    with kept(page):
        right.get_by_role("button", name="Leave what was missed").tap()
    assert {entry["wheel_id"] for entry in book(cellar_house.served.settings, kind="left_missed")} == {wheel}
    page.reload()
    expect(line(page, wheel).locator(".due.overdue")).to_have_count(0)


def test_chores_and_gear_take_one_touch(keeper: Callable[..., Page], cellar_house: CellarHouse) -> None:
    page, cellar, settings = opened(keeper), cellar_house.cellar, cellar_house.served.settings
    with kept(page):
        page.get_by_role("button", name="humidifier filled").tap()
    expect(page.locator("[data-chore]", has_text="humidifier filled").get_by_text("done")).to_be_visible()
    tub = page.locator(f'form[data-gear="{cellar.brine}"]')
    expect(tub.get_by_text("20 %, pH 5.2, 9 days ago")).to_be_visible()
    tub.get_by_label("strength %").fill("19,5")
    tub.get_by_label("pH").fill("5.1")
    with kept(page):
        tub.get_by_role("button", name="Keep").tap()
    assert book(settings, kind="chore", place_id=cellar.cave)[-1]["body"]["chore"] == "humidifier_filled"
    check = book(settings, kind="gear_check", gear_id=cellar.brine)[-1]["body"]
    assert (check["strength_pct"], check["ph"]) == (19.5, 5.1)


def test_a_wash_names_its_jar(keeper: Callable[..., Page], cellar_house: CellarHouse) -> None:
    page, cellar = opened(keeper), cellar_house.cellar
    left = page.locator(f"#s-{cellar.shelves[0]}")
    left.get_by_text("More for the whole shelf").tap()
    left.get_by_label("With which wash").select_option(label="Jar of smear")
    with kept(page):
        left.get_by_role("button", name="washed", exact=True).tap()
    made = [entry for entry in book(cellar_house.served.settings, kind="care") if entry["body"]["care"] == "washed"]
    assert {entry["gear_id"] for entry in made} == {cellar.jar}
    page.goto(f"/gear/{cellar.jar}")
    expect(page.get_by_text("washed").first).to_be_visible()


def test_the_round_works_without_script(browser: Browser, cellar_house: CellarHouse) -> None:
    house, cellar = cellar_house.served, cellar_house.cellar
    context = browser.new_context(base_url=house.http, java_script_enabled=False, storage_state=cellar_house.state)
    page = context.new_page()
    page.goto("/round")
    wheel = page.locator(f"#w-{cellar.wheels['24-12']}")
    wheel.get_by_role("button", name="Turned, nothing new").click()
    expect(page.get_by_text("Turned, nothing new: 1 wheel.")).to_be_visible()
    page.get_by_role("button", name="Undo").click()
    expect(page.get_by_text("Taken back: 1 entry.")).to_be_visible()
    wheel.get_by_role("link", name="Weigh").click()
    page.get_by_role("textbox", name="Weight", exact=True).fill("4.9 kg")
    page.locator("#weigh").get_by_role("button", name="Keep").click()
    expect(page.get_by_text("Heavier than before; was it wet, or on its board?")).to_be_visible()
    expect(page.get_by_role("textbox", name="Weight", exact=True)).to_have_value("4.9 kg")
    page.get_by_role("button", name="Keep it as typed").click()
    expect(page.get_by_text("weighed 4.10 kg")).to_be_visible()
    page.get_by_role("link", name="Correct").first.click()
    page.get_by_role("textbox", name="Weight", exact=True).fill("2870")
    page.locator("#correct").get_by_role("button", name="Keep").click()
    expect(page.get_by_text("weighed 2.07 kg")).to_be_visible()
    expect(page.get_by_text("weighed 4.10 kg")).to_have_count(0)
    assert len(book(house.settings, kind="weighing", wheel_id=cellar.wheels["24-12"])) == 3
    context.close()
