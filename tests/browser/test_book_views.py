"""Side by side, by age, ripe when, and vat or cave on a phone, in light and dark."""

import re
from collections.abc import Callable
from datetime import datetime, timedelta

import pytest
from playwright.sync_api import Page, expect
from sqlalchemy import Connection, Engine

from collector.clock import SystemClock
from collector.readings.model import Arrival, Sample
from collector.records.columns import to_ms
from collector.records.engine import open_records
from collector.records.facts import Placement, Target
from collector.records.places import add_fact
from dashboard.wheels.bodies.doings import Care, Looked, RindNote, Tasting
from tests.browser.walking import Served, flaws
from tests.dashboard.book_kept import a_make, a_style, a_wheel, enter, new_id
from tests.dashboard.dairy import a_place, keep

pytestmark = pytest.mark.browser
DAYS = 70
PROBE = "book-vault"


@pytest.fixture(scope="module")
def views(served: Served, owner_state: object) -> dict[str, str]:
    """A vault with ten weeks of air, three makes of four wheels in it and in a second place; the owner came first."""
    now_at = SystemClock().now()
    engine: Engine = open_records(served.settings.records_at)
    with engine.begin() as db:
        found = _filled(db, now_at)
    engine.dispose()
    keep(served.settings, _air(now_at))
    return found


def _filled(db: Connection, now_at: datetime) -> dict[str, str]:
    since = now_at - timedelta(days=300)
    vault, cellar = a_place(db, "Book vault"), a_place(db, "Far cellar", assumed_temperature_c=13.0)
    add_fact(db, Placement(new_id(), since, since, PROBE, "air", vault))
    add_fact(db, Target(new_id(), since, since, vault, False, 10.0, 14.0, 82.0, 92.0))
    style = a_style(db, now_at=now_at)
    found = {"vault": vault, "style": style}
    for number, code in enumerate(("V1", "V2", "V3")):
        age_d = DAYS + 35 * number
        make = a_make(db, age_d, now_at=now_at, code=code, style_id=style)
        for letter in "ABCD":
            place = vault if letter < "C" else cellar
            grams = tuple(2_200.0 - 6 * ord(letter) - 45 * week for week in range(6))
            wheel = a_wheel(db, code + letter, age_d, place, grams, style_id=style, make_id=make, now_at=now_at)
            found[code + letter] = wheel
            enter(db, Looked(), 20, wheel_id=wheel, now_at=now_at)
            for week in range(8):
                enter(db, Care(care="turned"), 7 * week + 0.5, wheel_id=wheel, now_at=now_at)
            if code == "V1":
                found["note"] = enter(db, RindNote(note="black_spots", where="edge"), 6, wheel_id=wheel, now_at=now_at)
            else:
                enter(db, Looked(), 5, wheel_id=wheel, now_at=now_at)
        tasted = Tasting(verdict=3 + number % 2, flavour="round", next_time="Smaller curd.")
        enter(db, tasted, age_d - 61, wheel_id=found[code + "A"], now_at=now_at)
    return found


def _air(now_at: datetime) -> list[Arrival]:
    """A reading every two hours, damp for some days before the notes."""
    found = []
    for hours in range(DAYS * 24, 0, -2):
        at = to_ms(now_at - timedelta(hours=hours))
        damp = 6.0 if 10 * 24 < hours < 16 * 24 else 0.0
        samples = (
            Sample("temperature", at, 12.0 + hours % 24 / 20, "Cel", "temperature"),
            Sample("humidity", at, 87.0 + damp + hours % 7 / 4, "%RH", "humidity"),
        )
        found.append(Arrival(PROBE, f"rindwatch/{PROBE}/readings", at, samples))
    return found


PATHS = {
    "side-by-side-cave": "/caves/{vault}/side-by-side",
    "side-by-side-wheel": "/wheels/{V1A}/side-by-side",
    "by-age": "/wheels/by-age?style={style}&age=60",
    "ripe": "/wheels/ripe",
    "vat-note": "/rind/notes/{note}/vat-or-cave",
    "vat-kind": "/rind/kinds/black_spots/vat-or-cave",
}


@pytest.mark.parametrize("name", PATHS)
def test_it_can_be_read_in_light_and_dark(owner: Callable[..., Page], views: dict[str, str], name: str) -> None:
    page = owner()
    page.goto(PATHS[name].format(**views))
    page.wait_for_load_state("networkidle")
    drawn = page.locator(".plot[data-drawn]").count() > 0
    assert flaws(page, name, again=".plot[data-drawn]" if drawn else "") == []


def test_side_by_side_shares_one_axis_and_reads_a_mark(owner: Callable[..., Page], views: dict[str, str]) -> None:
    page = owner()
    page.goto(f"/caves/{views['vault']}")
    page.get_by_role("link", name="Side by side").click()
    expect(page.locator(".js-plotly-plot .main-svg").first).to_be_visible()
    page.wait_for_function("document.querySelectorAll('.js-plotly-plot .cartesianlayer .subplot').length >= 3")
    page.get_by_text("Choose wheels").click()
    page.get_by_label("V3A").check()
    page.get_by_role("button", name="Draw these").click()
    expect(page.locator(".js-plotly-plot .legendtext", has_text="V3A")).to_be_visible()
    expect(page.get_by_role("cell", name="black spots").first).to_be_visible()


def test_the_last_three_at_an_age_are_found_from_the_wheels(owner: Callable[..., Page], views: dict[str, str]) -> None:
    page = owner()
    page.goto("/wheels")
    page.get_by_role("link", name="By age").click()
    page.get_by_label("Style").select_option(views["style"])
    page.get_by_label("How they stood at").select_option("60")
    page.get_by_role("button", name="Show").click()
    expect(page.get_by_role("heading", name="How did the last three stand at two months?")).to_be_visible()
    expect(page.get_by_role("heading", name="V1D")).to_be_visible()
    page.get_by_text("All that reached two months").click()
    expect(page.get_by_role("cell", name="3 of 5").first).to_be_visible()
    expect(page.locator(".js-plotly-plot .main-svg").first).to_be_visible()


def test_ripe_when_says_by_when_to_make_for_a_day(owner: Callable[..., Page], views: dict[str, str]) -> None:
    page = owner()
    page.goto("/wheels")
    page.get_by_role("link", name="Ripe when").click()
    page.get_by_label("To be eaten on").fill("15 Dec")
    page.get_by_role("button", name="Show").click()
    expect(page.get_by_role("heading", name="For 15 December")).to_be_visible()
    expect(page.locator(".make-by dt").first).to_be_visible()
    expect(page.get_by_role("img", name="ripe").first).to_be_visible()


def test_a_rind_note_leads_to_vat_or_cave_and_on_to_every_such_wheel(
    owner: Callable[..., Page], views: dict[str, str]
) -> None:
    page = owner()
    page.goto(f"/wheels/{views['V1D']}")
    page.get_by_role("link", name="Vat or cave?").click()
    expect(page.get_by_text("It goes with the vat.")).to_be_visible()
    expect(page.get_by_role("cell", name="2 of 2 has it: V1A, V1B")).to_be_visible()
    page.get_by_role("link", name="Every wheel with black spots").click()
    # Asked for the first time it goes through the whole book, which takes its time beside other tests.
    # How many others were looked at since depends on what else this house has lived through by then.
    expect(page.get_by_text(re.compile(r"4 of 4 wheels with it, 0 of \d+ wheels without"))).to_be_visible(
        timeout=20_000
    )
    page.get_by_role("link", name="all years").click()
    expect(page.get_by_role("heading", name="Makes with it")).to_be_visible()
