"""Corrections in the browser, with a signal and without, from where an entry is shown; script and house agree."""

from collections.abc import Callable
from datetime import UTC, datetime
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from collector.records.columns import new_id
from collector.records.engine import open_records, reading
from dashboard.rounds.choices import known
from dashboard.rounds.correcting import corrected, form_texts
from dashboard.rounds.entering import sheet_of
from dashboard.rounds.typed import Asked
from dashboard.wheels import tables
from dashboard.wheels.entries import put_all
from dashboard.wheels.entry_rows import entries_where
from tests.browser.rounds.cellar import entry
from tests.browser.rounds.chaos import NETWORK, kept_by_worker
from tests.browser.rounds.conftest import CellarHouse
from tests.browser.rounds.test_scripts import AUCKLAND, told
from tests.browser.rounds.thumb import all_sent, book, kept, line, listen, type_keys, until, waiting_count
from tests.browser.walking import picture, serious
from tests.dashboard.rounds.test_correcting import BODIES

pytestmark = pytest.mark.browser


def entered(house: CellarHouse) -> dict[str, str]:
    """One entry of each kind that can be corrected, straight into the book; ids by kind."""
    cellar, now_at = house.cellar, datetime.now(UTC)
    news = {}
    for kind, fields in BODIES.items():
        at_place = {"chore": cellar.cave, "shelf_photo": cellar.shelves[1]}
        refs = {"place_id": at_place[kind]} if kind in at_place else {}
        if kind == "gear_check":
            refs = {"gear_id": cellar.brine}
        refs = refs or {"wheel_id": cellar.wheels["24-16"]}
        if kind == "moved":
            refs["place_id"] = cellar.shelves[1]
        body = {"kind": kind, **fields, **({"board_id": cellar.board} if "board_id" in fields else {})}
        if kind != "shelf_photo":
            body.pop("photos", None)
        news[kind] = entry(body, 0.1, now_at, **refs)
    engine = open_records(house.served.settings.records_at)
    with engine.begin() as db:
        put_all(db, list(news.values()), received_at=now_at, who="Keeper")
    engine.dispose()
    return {kind: new.id for kind, new in news.items()}


def of_house(house: CellarHouse, entry_id: str) -> list[dict[str, Any]]:
    """What the house makes of the form of a correction that was not touched."""
    engine = open_records(house.served.settings.records_at)
    with reading(engine) as db:
        (old,) = entries_where(db, tables.entry.c.id == entry_id)
        asked = Asked({"seed": new_id(), **form_texts(old, AUCKLAND)}, AUCKLAND, datetime.now(UTC))
        news = corrected(old, asked, sheet_of(asked), known(db))
    engine.dispose()
    return [new.model_dump(mode="json", exclude_unset=True) for new in news]


def test_a_correction_means_the_same_with_script_and_without(
    keeper: Callable[..., Page], cellar_house: CellarHouse
) -> None:
    page, made = keeper(https=False), entered(cellar_house)
    for kind, entry_id in made.items():
        page.goto(f"/correct/{entry_id}")
        mine = page.evaluate("rindwatch.entries.entriesOf(document.querySelector('#correct form[data-entry]'), null)")
        theirs = of_house(cellar_house, entry_id)
        assert [told(one) for one in mine] == [told(one) for one in theirs], kind
        assert mine[-1]["replaces"] == theirs[-1]["replaces"] == entry_id
        if kind in {"weighing", "care", "ended"}:
            assert serious(page) == []
            picture(page, f"correct-{kind}")


def test_an_entry_is_corrected_from_its_wheel_and_undone(
    keeper: Callable[..., Page], cellar_house: CellarHouse
) -> None:
    page, wheel, settings = keeper(), cellar_house.cellar.wheels["24-13"], cellar_house.served.settings
    listen(page)
    page.goto(f"/at/{wheel}")
    page.get_by_text("Took out a plug").tap()
    out = page.locator('form[data-entry="took_out"]')
    out.get_by_label("Its weight").fill("12")
    with kept(page):
        out.get_by_role("button", name="Keep").tap()
    page.reload()
    page.get_by_role("link", name="Correct: took out a plug of 12 g").tap()
    page.get_by_label("slice").tap()
    page.get_by_label("Its weight").fill("80")
    with kept(page):
        page.get_by_role("button", name="Keep").tap()
    expect(page.get_by_text("Corrected. What was written before stays in the book.")).to_be_visible()
    assert [e["body"]["what"] for e in book(settings, kind="took_out", wheel_id=wheel)] == ["plug", "slice"]
    with kept(page):
        page.locator("#waiting").get_by_role("button", name="Undo").tap()
    page.get_by_role("link", name="Back").tap()
    expect(page.get_by_text("took out a plug of 12 g")).to_be_visible()
    expect(page.get_by_text("took out a slice")).to_have_count(0)


def test_without_a_signal_what_this_phone_entered_is_corrected(
    keeper: Callable[..., Page], cellar_house: CellarHouse
) -> None:
    page, cellar, settings = keeper(forgiven=NETWORK), cellar_house.cellar, cellar_house.served.settings
    wheel = cellar.wheels["24-14"]
    listen(page)
    page.goto("/round")
    kept_by_worker(page)
    page.context.set_offline(True)
    line(page, wheel).get_by_role("link", name="Weigh").tap()
    type_keys(page, "2840")
    page.locator("dialog[open]").get_by_role("button", name="Keep", exact=True).tap()
    until(lambda: waiting_count(page) == 1, "the weighing waits")
    page.goto(f"/at/{wheel}")
    page.get_by_role("link", name="Correct: 24-14 weighed").tap()
    weight = page.get_by_role("textbox", name="Weight", exact=True)
    expect(weight).to_have_value("2840 g")
    picture(page, "correct-no-signal")
    weight.fill("2480")
    page.get_by_role("button", name="Keep", exact=True).tap()
    expect(page.get_by_text("Corrected. What was")).to_be_visible()
    page.goto("/waiting")
    expect(page.get_by_text("2 entries wait on this phone.", exact=True)).to_be_visible()
    page.get_by_text("Entered on this phone in the last days").tap()
    expect(page.get_by_role("link", name="Correct: Corrected: 24-14 weighed")).to_be_visible()
    page.context.set_offline(False)
    all_sent(page)
    old, new = book(settings, kind="weighing", wheel_id=wheel)[-2:]
    assert (new["replaces"], new["body"]["scale_g"], new["body"]["tare_g"]) == (old["id"], 2480, 800)
    assert new["happened_at"] == old["happened_at"]


def test_without_a_signal_what_the_house_had_of_a_wheel_is_corrected_too(
    keeper: Callable[..., Page], cellar_house: CellarHouse
) -> None:
    cellar, settings = cellar_house.cellar, cellar_house.served.settings
    wheel, now_at = cellar.wheels["24-05"], datetime.now(UTC)
    brushed = entry({"kind": "care", "care": "brushed"}, 0.2, now_at, wheel_id=wheel)
    weighed = entry({"kind": "weighing", "scale_g": 2_800, "tare_g": 800}, 0.1, now_at, wheel_id=wheel)
    moved = entry({"kind": "moved", "position": 7}, 0.05, now_at, wheel_id=wheel, place_id=cellar.shelves[0])
    engine = open_records(settings.records_at)
    with engine.begin() as db:
        put_all(db, [brushed, weighed, moved], received_at=now_at, who="A neighbour")
    page = keeper(forgiven=NETWORK)
    listen(page)
    page.goto("/round")
    kept_by_worker(page)
    page.context.set_offline(True)
    page.goto(f"/at/{wheel}")
    lately = page.locator("[data-lately]")
    expect(lately.get_by_text("brushed (A neighbour)").first).to_be_visible()
    picture(page, "at-wheel-no-signal")
    lately.get_by_role("button", name="Take back: brushed").first.tap()
    until(lambda: waiting_count(page) == 1, "the taking back waits")
    expect(lately.get_by_role("button", name="Take back: brushed (A neighbour)")).to_have_count(0)
    lately.get_by_role("link", name="Correct: moved").first.tap()
    page.get_by_label("Where there").fill("left end")
    page.locator('section[data-kind="moved"]').get_by_role("button", name="Keep").tap()
    expect(page.get_by_text("Corrected. What was")).to_be_visible()
    page.goto(f"/at/{wheel}")
    lately.get_by_role("link", name="Correct: weighed 2.00 kg").tap()
    expect(page.get_by_role("textbox", name="Weight", exact=True)).to_have_value("2800 g")
    page.get_by_role("textbox", name="Weight", exact=True).fill("2810")
    page.get_by_role("button", name="Keep", exact=True).tap()
    until(lambda: waiting_count(page) == 3, "all three wait")
    with engine.begin() as db:  # meanwhile somebody else corrects the weighing
        more = {"replaces": weighed.id, "wheel_id": wheel}
        put_all(db, [entry({"kind": "weighing", "scale_g": 2_790}, 0.1, now_at, **more)], received_at=now_at)
    engine.dispose()
    page.context.set_offline(False)
    all_sent(page)
    assert book(settings, replaces=brushed.id)[0]["kind"] == "withdrawn"
    (again,) = book(settings, replaces=moved.id, place_id=cellar.shelves[0])
    assert (again["place_id"], again["body"]) == (
        cellar.shelves[0],
        {"kind": "moved", "spot": "left end", "position": 7},
    )
    theirs, mine = book(settings, replaces=weighed.id)
    assert (mine["body"]["scale_g"], mine["body"]["tare_g"]) == (2_810, 800)
    assert [one["flags"] for one in (theirs, mine)] == [["corrected_twice"]] * 2
    page.goto("/waiting")
    expect(page.get_by_text("Two corrections of the same entry; the later one counts.")).to_be_visible()


def test_a_chore_is_corrected_without_a_signal_too(keeper: Callable[..., Page], cellar_house: CellarHouse) -> None:
    page, settings = keeper(forgiven=NETWORK), cellar_house.served.settings
    listen(page)
    page.goto("/round")
    kept_by_worker(page)
    page.context.set_offline(True)
    page.get_by_text("What Old cellar itself needs").tap()
    page.get_by_role("button", name="walls wiped").tap()
    until(lambda: waiting_count(page) == 1, "the chore waits")
    page.goto("/waiting")
    page.get_by_text("Entered on this phone in the last days").tap()
    page.get_by_role("link", name="Correct: walls wiped").first.tap()
    form = page.locator('section[data-kind="chore"]')
    form.get_by_label("What was done").select_option(label="drip tray emptied")
    form.get_by_role("button", name="Keep").tap()
    expect(page.get_by_text("Corrected. What was")).to_be_visible()
    page.context.set_offline(False)
    all_sent(page)
    assert book(settings, kind="chore")[-1]["body"] == {"kind": "chore", "chore": "tray_emptied"}
