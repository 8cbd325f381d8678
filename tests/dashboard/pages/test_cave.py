"""The page of one cave: its air now, its chart, its table, and where its buttons lead."""

import gzip
import json
import re
from datetime import timedelta
from html import unescape

import numpy as np
import pytest
from fastapi.testclient import TestClient
from sqlalchemy import Engine

from collector.clock import ManualClock
from collector.records.columns import to_ms
from collector.settings import Settings
from tests.dashboard.conftest import NOW_AT
from tests.dashboard.dairy import a_place, a_placement, a_target, a_warning, keep
from tests.dashboard.pages.test_caves import words_of
from tests.dashboard.places_seen import a_message, messages

NOW_MS = to_ms(NOW_AT)


@pytest.fixture
def fridge(settings: Settings, engine: Engine) -> str:
    """A fridge with a target and two days of readings."""
    with engine.begin() as db:
        place_id = a_place(db)
        a_target(db, place_id)
        a_placement(db, "cellar-1", place_id)
    keep(settings, messages(hours=48))
    return place_id


def links_of(page: str) -> dict[str, str]:
    """Where each link leads, by its words."""
    found = re.findall(r'<a [^>]*?href="([^"]+)"[^>]*>(.*?)</a>', page, re.DOTALL)
    return {words_of(inner).strip(): unescape(path) for path, inner in found}


def test_the_air_now_stands_on_top_with_its_chart_below(guest: TestClient, fridge: str) -> None:
    page = guest.get(f"/caves/{fridge}").text
    said = words_of(page)
    assert "Lower fridge" in said
    assert "All right" in said
    assert "Temperature 12.0 °C ± 0.3" in said
    assert f'data-figure="/caves/{fridge}/figure"' in page
    assert "yesterday 14:10 to now" in said


def test_its_buttons_lead_through_time(guest: TestClient, fridge: str) -> None:
    links = links_of(guest.get(f"/caves/{fridge}?span=week").text)
    assert links["month"] == f"/caves/{fridge}?span=month#over-time"
    assert links["Earlier"] == f"/caves/{fridge}?span=week&to=2026-03-05T14%3A10Z#over-time"
    assert "Later" not in links
    back = links_of(guest.get(links["Earlier"]).text)
    assert back["Later"] == f"/caves/{fridge}?span=week&to=2026-03-12T14%3A10Z#over-time"
    assert back["Now"] == f"/caves/{fridge}?span=week#over-time"
    assert back["day"] == f"/caves/{fridge}?span=day&to=2026-03-05T14:10Z#over-time"
    assert words_of(guest.get(back["Later"]).text).count("to now") == 1


def test_a_stretch_that_a_warning_links_to_is_shown_and_stepped_through(guest: TestClient, fridge: str) -> None:
    page = guest.get(f"/caves/{fridge}?from=2026-03-11T00%3A10Z&to=2026-03-11T03%3A10Z").text
    links = links_of(page)
    assert links["Earlier"] == f"/caves/{fridge}?from=2026-03-10T21%3A10Z&to=2026-03-11T00%3A10Z#over-time"
    assert links["CSV"] == f"/api/places/{fridge}/air.csv?from=2026-03-11T00%3A10Z&to=2026-03-11T03%3A10Z"
    assert guest.get(links["CSV"]).text.count("\r\n") == 19


def test_the_same_numbers_stand_in_a_table(guest: TestClient, fridge: str) -> None:
    page = guest.get(f"/caves/{fridge}?span=day").text
    assert '<th scope="row">12 March 13:00</th><td>12.0 (12.0 to 12.0)</td><td>88 (88 to 88)</td>' in page


def test_what_happened_is_told_in_words_with_a_link(guest: TestClient, engine: Engine, fridge: str) -> None:
    with engine.begin() as db:
        warning_id = a_warning(db, "too_dry", hours_ago=5, place_id=fridge)
    page = guest.get(f"/caves/{fridge}?span=day").text
    assert "What happened in this time" in page
    assert page.count(f'href="/warnings/{warning_id}"') == 2
    assert "What happened" not in guest.get(f"/caves/{fridge}?span=day&to=2026-03-11T00:00Z").text


def test_the_figure_is_fetched_once_while_nothing_is_new(
    guest: TestClient, settings: Settings, engine: Engine, fridge: str
) -> None:
    path = f"/caves/{fridge}/figure?span=day"
    first = guest.get(path)
    assert first.headers["content-type"] == "application/json"
    names = [trace.get("name") for trace in first.json()["data"]]
    assert names == ["temperature", "humidity", "dew point", "target"]
    tag = {"If-None-Match": first.headers["etag"]}
    assert guest.get(path, headers=tag).status_code == 304
    keep(settings, [a_message("cellar-1", NOW_MS - 10_000, 13.0)])
    second = guest.get(path, headers=tag)
    assert second.status_code == 200
    with engine.begin() as db:
        a_warning(db, place_id=fridge)
    assert guest.get(path, headers={"If-None-Match": second.headers["etag"]}).status_code == 200


def test_a_years_figure_waits_for_its_next_point_but_not_for_what_comes_late(
    guest: TestClient, settings: Settings, clock: ManualClock, fridge: str
) -> None:
    path = f"/caves/{fridge}/figure?span=year"
    tag = {"If-None-Match": guest.get(path).headers["etag"]}
    keep(settings, [a_message("cellar-1", NOW_MS + 1_000, 13.0)])
    clock.advance(timedelta(minutes=5))
    assert guest.get(path, headers=tag).status_code == 304
    keep(settings, [a_message("cellar-1", NOW_MS - 30 * 86_400_000, 13.0)])
    assert guest.get(path, headers=tag).status_code == 200


def test_a_past_figure_stays_the_same_as_time_goes_on(guest: TestClient, clock: ManualClock, fridge: str) -> None:
    path = f"/caves/{fridge}/figure?span=week&to=2026-03-12T00:00Z"
    tag = {"If-None-Match": guest.get(path).headers["etag"]}
    clock.advance(timedelta(days=3))
    assert guest.get(path, headers=tag).status_code == 304


def test_the_figure_is_packed_for_those_who_take_it(guest: TestClient, fridge: str) -> None:
    plain = guest.get(f"/caves/{fridge}/figure", headers={"Accept-Encoding": "identity"})
    assert "content-encoding" not in plain.headers
    with guest.stream("GET", f"/caves/{fridge}/figure", headers={"Accept-Encoding": "gzip"}) as answer:
        raw = b"".join(answer.iter_raw())
    assert answer.headers["content-encoding"] == "gzip"
    assert json.loads(gzip.decompress(raw)) == plain.json()


def test_the_air_now_is_sent_again_only_when_something_is_new(guest: TestClient, fridge: str) -> None:
    first = guest.get(f"/caves/{fridge}/now")
    assert "All right" in first.text
    tag = {"If-None-Match": first.headers["etag"]}
    assert guest.get(f"/caves/{fridge}/now", headers=tag).status_code == 304
    page = guest.get(f"/caves/{fridge}").text
    shown_tag = unescape(re.findall(r'data-etag="([^"]*)"', page)[0])
    assert shown_tag == first.headers["etag"]


@pytest.mark.parametrize("path", ["", "/now", "/figure", "/cooler"])
def test_a_cave_that_is_not_there_is_told(guest: TestClient, fridge: str, path: str) -> None:
    assert guest.get(f"/caves/none{path}").status_code == 404


def test_times_that_cannot_be_read_are_told_how_they_look(guest: TestClient, fridge: str) -> None:
    answer = guest.get(f"/caves/{fridge}?span=fortnight")
    assert (answer.status_code, "2026-03-12T14:10Z" in answer.text) == (422, True)


def test_a_place_without_any_reading_has_an_empty_chart(guest: TestClient, engine: Engine, fridge: str) -> None:
    with engine.begin() as db:
        empty = a_place(db, "Counter")
    for span in ("hour", "all"):
        assert guest.get(f"/caves/{empty}/figure?span={span}").json()["data"] == []
        assert "Nothing is measured here yet" in guest.get(f"/caves/{empty}?span={span}").text


def test_everything_begins_with_the_first_reading_here(guest: TestClient, settings: Settings, fridge: str) -> None:
    keep(settings, [a_message("cellar-1", NOW_MS - 100 * 86_400_000)])
    figure = guest.get(f"/caves/{fridge}/figure?span=all").json()
    assert figure["layout"]["xaxis"]["range"][0] == "2025-12-02T14:10"


def saw(minutes: int) -> np.ndarray:
    """A cooler's saw: down by 1.2 K in 10 minutes, up in 20."""
    phase = np.arange(minutes) % 30
    return 12 + np.where(phase < 10, 1.2 - phase * 0.12, (phase - 10) * 0.06)


def test_the_coolers_runs_are_counted(guest: TestClient, settings: Settings, engine: Engine, fridge: str) -> None:
    """48 runs of 30 minutes a day, a third of the time cooling, 1.2 K of swing."""
    days, start = 4, (NOW_MS // 86_400_000 - 4) * 86_400_000
    values = saw(days * 1440)
    with engine.begin() as db:
        other = a_place(db, "Upper fridge")
        a_placement(db, "upper", other)
    keep(settings, [a_message("upper", start + i * 60_000, float(v), None) for i, v in enumerate(values)])
    said = words_of(guest.get(f"/caves/{other}/cooler").text)
    # A day's first and last run are cut by midnight, where a day ends (UTC).
    assert "whole runs a day 46 46" in said
    assert "from start to start 30 min" in said
    assert "share of time cooling 33 %" in said
    assert "swing 1.2 °C" in said
    assert '"name":"swing"' in guest.get(f"/caves/{other}/cooler").text


def test_where_no_cooler_can_be_seen_the_page_says_why(guest: TestClient, fridge: str) -> None:
    assert "No cooler can be seen here" in guest.get(f"/caves/{fridge}/cooler").text
    assert "Later" in links_of(guest.get(f"/caves/{fridge}/cooler?day=20000").text)
