"""Names, topics, payloads, notes and file names come from strangers: on no page are they more than text."""

import csv
import io
import re
from datetime import timedelta
from urllib.parse import quote

import pytest
from fastapi.routing import APIRoute
from fastapi.testclient import TestClient
from sqlalchemy import Connection, Engine, insert, update

from collector.readings.model import Reject
from collector.records.columns import new_id, to_ms
from collector.records.tables import person, topic_filter
from collector.settings import Settings
from dashboard import links_to
from dashboard.app import Dashboard
from dashboard.household import Household
from dashboard.household_kept import save
from dashboard.people import tokens
from dashboard.wheels.bodies.doings import Note, RindNote, Tasting
from dashboard.wheels.bodies.sheets import GearSheet
from dashboard.wheels.csv_tables import TABLES
from tests.dashboard.book_kept import a_make, a_style, a_wheel, enter
from tests.dashboard.conftest import NOW_AT
from tests.dashboard.dairy import a_place as a_dairy_place
from tests.dashboard.dairy import a_placement, a_target, a_warning, keep
from tests.dashboard.places_seen import a_message
from tests.dashboard.test_routes import every_route

# What a page must never hold as it stands: an element of its own, or a way out of an attribute or a script.
TAG = "<img src=x onerror=alert(1)>"
BROKEN_OUT = re.compile(r"<img src=x|<svg/onload|\"><s>|</script><s>|'><s>", re.IGNORECASE)
NASTY = f"{TAG}\"><s>'><s></script><s>"
SHORT = '"><s>' + TAG
FORMULA = "=HYPERLINK(1)"


def a_hostile_house(db: Connection) -> dict[str, str]:
    """A household in which every text that anybody may give is markup; the ids for its pages' addresses."""
    save(db, Household(dairy_name=SHORT, time_zone="UTC"))
    place = a_dairy_place(db, SHORT)
    a_target(db, place)
    a_placement(db, NASTY, place)
    warning = a_warning(db, place_id=place)
    style, make = a_style(db), a_make(db)
    wheel = a_wheel(db, SHORT[:30], place_id=place, make_id=make, style_id=style, weights_g=(2400, 2380))
    note = enter(db, RindNote(note="crack", text=NASTY), wheel_id=wheel)
    enter(db, Tasting(text=NASTY), wheel_id=wheel)
    enter(db, Note(text=NASTY), wheel_id=wheel)
    gear = new_id()
    enter(db, GearSheet(gear="brine", name=SHORT), gear_id=gear)
    db.execute(update(person).values(name=person.c.role + SHORT))
    db.execute(insert(topic_filter).values(filter=f"{SHORT}/#", added_at=NOW_AT))
    tokens.make(db, SHORT, ["read"], "", SHORT, NOW_AT)
    return {
        "place_id": place, "warning_id": warning, "make_id": make, "wheel_id": wheel, "note_id": note,
        "gear_id": gear, "style_id": style, "kind": "crack", "key:path": wheel,
        "path:path": links_to.probe(NASTY).removeprefix("/probes/"),
    }  # fmt: skip


@pytest.fixture
def ids(owner: TestClient, engine: Engine, settings: Settings) -> dict[str, str]:
    with engine.begin() as db:
        found = a_hostile_house(db)
    now_ms = to_ms(NOW_AT)
    heard = [a_message(NASTY, now_ms - minute * 600_000) for minute in range(6)]
    strange = a_message(f"{SHORT}/t", now_ms - 60_000)
    keep(settings, [*heard, strange, Reject(f"{SHORT}/x", f"{NASTY} is no number", NASTY.encode(), now_ms)])
    settings.import_folder.mkdir(parents=True, exist_ok=True)
    (settings.import_folder / "0195a-log.csv").write_text(f"time;{SHORT}\n2026-03-01 10:00;12,5\n")
    return found


def addresses(app: Dashboard, ids: dict[str, str]) -> list[str]:
    """Every page that can be looked at, with the hostile house's own ids filled in."""
    found = []
    for path, route in every_route(app.routes):
        if not isinstance(route, APIRoute) or "GET" not in route.methods:
            continue
        filled = re.sub(r"{([^}]+)}", lambda part: ids.get(part[1], "none"), path)
        found.append(filled)
    span = "?from=2026-03-12T00:00:00Z&to=2026-03-13T00:00:00Z"
    found += [f"/api/places/{ids['place_id']}/air.csv{span}", "/settings/changes?kind=probes"]
    found += [f"/caves?x={quote(TAG)}", f"/sign-in?next={quote(TAG)}&out={quote(TAG)}", f"/wheels?q={quote(NASTY)}"]
    return found


def test_no_page_holds_a_strangers_text_as_more_than_text(
    app: Dashboard, owner: TestClient, ids: dict[str, str]
) -> None:
    shown = 0
    for path in addresses(app, ids):
        answer = owner.get(path)
        assert answer.status_code < 500 or answer.status_code == 503, f"{answer.status_code} at {path}"
        assert answer.headers["x-content-type-options"] == "nosniff", path
        assert "default-src 'none'" in answer.headers["content-security-policy"], path
        if answer.headers.get("content-type", "").startswith("text/html"):
            broken = BROKEN_OUT.search(answer.text)
            assert broken is None, f"{path}: {answer.text[max(0, broken.start() - 80) : broken.end() + 20]}"
            shown += "&lt;img src=x" in answer.text
    assert shown > 20, "the markup must be seen as text on many pages, or this test looks at nothing"


def test_a_probe_is_named_after_its_topic_and_its_page_is_still_reached(owner: TestClient, ids: dict[str, str]) -> None:
    answer = owner.get(links_to.probe(NASTY))
    assert answer.status_code == 200
    assert "&lt;img src=x" in answer.text


def test_what_is_refused_comes_back_as_text(owner: TestClient, ids: dict[str, str]) -> None:
    for path, typed in (
        ("/settings/household", {"dairy_name": NASTY * 3, "time_zone": NASTY}),
        ("/settings/people", {"name": NASTY, "role": NASTY}),
        ("/settings/programs", {"name": NASTY}),
        ("/settings/copies", {"place": NASTY}),
        ("/readings/type", {"place": NASTY, "temperature": NASTY, "instrument": NASTY}),
        (f"/targets/{ids['place_id']}", {"temperature_low": NASTY}),
        ("/wheels/add", {"lines": NASTY}),
        ("/away", {"from": NASTY, "to": NASTY, "who": NASTY}),
    ):
        answer = owner.post(path, data=typed)
        assert answer.status_code < 500, path
        assert BROKEN_OUT.search(answer.text) is None, path


def test_no_table_for_a_spreadsheet_holds_a_formula(owner: TestClient, engine: Engine, settings: Settings) -> None:
    """What begins a formula: OWASP, "CSV injection"."""
    with engine.begin() as db:
        place = a_dairy_place(db, FORMULA)
        wheel = a_wheel(db, FORMULA, place_id=place)
        enter(db, RindNote(note="crack", text=FORMULA), wheel_id=wheel)
        enter(db, Note(text="\t" + FORMULA), wheel_id=wheel)
        db.execute(update(person).values(name=FORMULA))
    keep(settings, [a_message(FORMULA, to_ms(NOW_AT - timedelta(minutes=5)))])
    span = "?from=2026-03-12T00:00:00Z&to=2026-03-13T00:00:00Z"
    paths = [f"/settings/book/{table.name}.csv" for table in TABLES]
    paths += [f"/wheels/{wheel}/side-by-side.csv", "/wheels/by-age.csv", f"/api/channels/1/readings.csv{span}"]
    seen = 0
    for path in paths:
        answer = owner.get(path)
        assert answer.status_code in {200, 404}, path
        cells = [cell for row in csv.reader(io.StringIO(answer.text)) for cell in row]
        assert not [cell for cell in cells if cell.lstrip().startswith("=")], path
        seen += "'=HYPERLINK" in answer.text
    assert seen >= 2, "the formula must be seen as text, or this test looks at nothing"
