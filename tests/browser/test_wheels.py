"""The wheel book on a phone: lists, one wheel, a shelf moved, sixty wheels brought in, a make."""

import re
import time
from collections.abc import Callable, Iterator
from datetime import datetime
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect
from sqlalchemy import Connection, Engine

from collector.clock import SystemClock
from collector.records.engine import open_records
from dashboard.wheels.bodies.doings import Care, RindNote, Tasting
from dashboard.wheels.bodies.make import Added, Milk
from tests.browser.walking import Served, flaws
from tests.dashboard.book_kept import a_make, a_style, a_wheel, enter
from tests.dashboard.dairy import a_place

pytestmark = pytest.mark.browser
BUDGET_S = 120
"""The issue's own promise: sixty pasted wheels in under two minutes."""


@pytest.fixture(scope="module")
def engine(served: Served) -> Iterator[Engine]:
    engine = open_records(served.settings.records_at)
    yield engine
    engine.dispose()


@pytest.fixture(scope="module")
def book(engine: Engine, owner_state: object) -> dict[str, str]:
    """An invented shelf of wheels with a life; the owner came first."""
    with engine.begin() as db:
        return _filled(db, SystemClock().now())


def _filled(db: Connection, now_at: datetime) -> dict[str, str]:
    cold = a_place(db, "North fridge", assumed_temperature_c=4.0, assumed_humidity_pct=85.0)
    warm = a_place(db, "Stone cellar", assumed_temperature_c=14.0, assumed_humidity_pct=92.0)
    tomme, blue = a_style(db, now_at=now_at), a_style(db, "blue", now_at=now_at)
    milk, herb = Milk(species="goat", farm="Upper pasture", volume_l=40), Added(name="Nettle leaf", lot="L7")
    make = a_make(db, 60, now_at=now_at, code="26-02", heat="raw", milks=(milk,), additions=(herb,), style_id=tomme)
    ids = [
        a_wheel(db, f"26-02{chr(65 + n)}", 60, cold, (2_150.0 - n, 2_040.0, 1_990.0, 1_950.0), style_id=tomme,
                make_id=make, now_at=now_at)
        for n in range(12)
    ]  # fmt: skip
    a_wheel(db, "Blue 7", 80, warm, (1_100.0, 1_020.0), style_id=blue, now_at=now_at)
    enter(db, RindNote(note="cat_hair", where="edge", text="A thumb's width."), 3, wheel_id=ids[0], now_at=now_at)
    enter(db, Care(care="turned", nothing_new=True), 2, wheel_id=ids[1], now_at=now_at)
    enter(
        db,
        Tasting(verdict=4, flavour="Nutty, a little flat", next_time="salt it longer"),
        1,
        wheel_id=ids[0],
        now_at=now_at,
    )
    return {"cold": cold, "warm": warm, "wheel": ids[0], "make": make}


PATHS = {
    "wheels": "/wheels", "wheels-finished": "/wheels/finished", "wheel": "/wheels/{wheel}",
    "wheel-cut": "/wheels/{wheel}/do/cut", "wheel-ended": "/wheels/{wheel}/do/ended",
    "wheel-change": "/wheels/{wheel}/do/wheel", "wheels-move": "/wheels/move?from={cold}",
    "wheels-move-to": "/wheels/move?from={cold}&to={warm}", "wheels-labels": "/wheels/labels", "makes": "/makes",
    "make": "/makes/{make}", "make-sheet": "/makes/{make}/sheet", "make-again": "/makes/new?again={make}",
    "make-card": "/makes/{make}/card", "calendar": "/settings/calendar", "book-file": "/settings/book",
    "weight": "/wheels/{wheel}/weight", "weight-cave": "/caves/{cold}/weight",
}  # fmt: skip


@pytest.mark.parametrize("name", PATHS)
def test_it_can_be_read_in_light_and_dark(owner: Callable[..., Page], book: dict[str, str], name: str) -> None:
    page = owner()
    page.goto(PATHS[name].format(**book))
    page.wait_for_load_state("networkidle")
    assert flaws(page, name) == []


def test_a_wheel_tells_its_weight_to_come_and_answers_a_wish(owner: Callable[..., Page], book: dict[str, str]) -> None:
    page = owner()
    page.goto(f"/wheels/{book['wheel']}")
    page.get_by_role("link", name=re.compile("^Weight to come")).click()
    expect(page.get_by_role("heading", name="Weight of 26-02A")).to_be_visible()
    expect(page.get_by_text("is assumed, not measured.")).to_be_visible()
    page.get_by_label("Cover it with").select_option("waxed_paper")
    page.get_by_label("It should have lost").fill("11")
    page.get_by_role("button", name="Show").click()
    expect(page.get_by_label("It should have lost")).to_have_value("11")
    expect(page.locator("p.state")).to_contain_text(re.compile("waxed paper|cannot tell|lost about"))


def test_a_shelf_is_moved_in_three_touches_and_taken_back(owner: Callable[..., Page], book: dict[str, str]) -> None:
    page = owner()
    page.goto("/wheels")
    page.locator(f"#s-{book['cold']}").get_by_role("link", name="Move this shelf").click()  # 1
    page.get_by_role("link", name="Stone cellar").click()  # 2
    expect(page.get_by_text("will sweat for about")).to_be_visible()
    expect(page.get_by_text("blue mould travels")).to_be_visible()
    page.get_by_role("button", name="Move to Stone cellar").click()  # 3
    expect(page.get_by_text("12 wheels moved to Stone cellar.")).to_be_visible()
    page.get_by_role("button", name="Undo").click()
    expect(page.locator(f"#s-{book['cold']} .ways li")).to_have_count(12)


def test_sixty_pasted_wheels_are_in_the_book_within_the_promise(
    owner: Callable[..., Page], book: dict[str, str]
) -> None:
    rows = [f"P{n:02}\ttomme\t2026-01-{1 + n % 28:02}\t{2 + n / 100:.2f} kg\tStone cellar" for n in range(60)]
    page = owner()
    began = time.monotonic()
    page.goto("/wheels/add")
    page.get_by_label("Your wheels").fill("code\tstyle\tmade\tweight\tplace\n" + "\n".join(rows))
    page.get_by_role("button", name="Read them").click()
    page.get_by_role("button", name="Put them into the book").first.click()
    expect(page.get_by_text(re.compile("60 wheels"))).to_be_visible(timeout=60_000)
    took_s = time.monotonic() - began
    print(f"sixty pasted wheels: {took_s:.1f} s from the empty page to the shelf, of {BUDGET_S} s")
    assert took_s < BUDGET_S
    page.goto("/wheels?code=P5")
    expect(page.get_by_text("10 wheels found")).to_be_visible()
    expect(page.get_by_text("2.59 kg")).to_be_visible()


def test_a_make_is_timed_with_one_thumb_and_loses_nothing(owner: Callable[..., Page], book: dict[str, str]) -> None:
    page = owner(https=False)
    page.goto(f"/makes/new?again={book['make']}")
    expect(page.get_by_text("salt it longer")).to_be_visible()
    page.get_by_label("Code of the make").fill("26-14")
    page.get_by_role("button", name="Rennet in").click()
    expect(page.get_by_text("Rennet in:")).to_be_visible()
    expect(page.get_by_label("Code of the make")).to_have_value("26-14")
    expect(page.get_by_role("button", name="Rennet in")).to_contain_text(re.compile(r"\d\d:\d\d"))
    page.get_by_text("Milk", exact=True).first.click()
    expect(page.get_by_label("Farm").first).to_have_value("Upper pasture")


def test_labels_come_as_a_file(owner: Callable[..., Page], book: dict[str, str], tmp_path: Path) -> None:
    page = owner()
    page.goto(f"/wheels/labels?place={book['warm']}")
    with page.expect_download() as waiting:
        page.get_by_role("button", name="Make the labels").click()
    waiting.value.save_as(tmp_path / "labels.pdf")
    assert (tmp_path / "labels.pdf").read_bytes().startswith(b"%PDF-")


def test_a_batch_is_given_away_and_that_is_taken_back(owner: Callable[..., Page], engine: Engine) -> None:
    with engine.begin() as db:
        wheel = a_wheel(db, "Pile", 20, pieces=14, now_at=SystemClock().now())
    page = owner(https=False)
    page.goto(f"/wheels/{wheel}")
    page.get_by_text("Move, cover, cut, finish").click()
    page.get_by_role("link", name="Finished, eaten").click()
    page.get_by_text("given away", exact=True).click()
    page.get_by_label("How many of the pieces").fill("3")
    page.get_by_label("To whom").fill("The neighbour")
    page.get_by_role("button", name="Keep").click()
    expect(page.get_by_text("11 of 14 left")).to_be_visible()
    page.get_by_role("button", name="Undo").click()
    expect(page.get_by_text("14 of 14 left")).to_be_visible()
