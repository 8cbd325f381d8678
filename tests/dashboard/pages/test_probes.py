"""The list of probes."""

import pytest
from fastapi.testclient import TestClient
from sqlalchemy import Engine

from collector.readings.model import Reject, Sample
from collector.readings.store import SqliteReadings
from collector.settings import Settings
from dashboard.pages.probes import MOST_UNPLACED
from tests.builders import a_sample, an_arrival, ms
from tests.dashboard.dairy import a_calibration, a_place, a_placement, a_warning, keep

READING = an_arrival(
    a_sample(0, 11.5), a_sample(0, 88, "humidity", "%RH"), Sample("battery", ms(0), 72, "%EL", "battery")
)


def between(text: str, first: str, then: str) -> bool:
    return 0 <= text.find(first) < text.find(then)


def test_without_readings_the_page_says_so(guest: TestClient, engine: Engine) -> None:
    assert "No probe was heard yet." in guest.get("/probes").text


def test_what_nobody_has_placed_stands_on_top(guest: TestClient, engine: Engine, settings: Settings) -> None:
    with engine.begin() as db:
        a_placement(db, "cellar-1", a_place(db))
    keep(settings, [READING, an_arrival(probe="a-new-one", minute=5)])
    page = guest.get("/probes").text
    assert between(page, "Not placed yet", "a-new-one")
    assert between(page, "a-new-one", "Lower fridge")
    assert between(page, "Lower fridge", "cellar-1")


def test_a_card_tells_values_age_battery_and_check(guest: TestClient, engine: Engine, settings: Settings) -> None:
    with engine.begin() as db:
        a_placement(db, "cellar-1", a_place(db))
    keep(settings, [READING])
    page = guest.get("/probes").text
    assert "11.5 °C" in page
    assert "88.0 %" in page
    assert "10 days ago" in page
    assert "Battery 72 %" in page
    assert "not checked yet" in page
    with engine.begin() as db:
        a_calibration(db, "cellar-1", "humidity", offset=-2)
    page = guest.get("/probes").text
    assert "86.0 %" in page
    assert "checked 16 May 2025" in page


def test_a_probe_of_another_household_unit_is_told_in_ours(
    guest: TestClient, engine: Engine, settings: Settings
) -> None:
    with engine.begin() as db:
        a_placement(db, "shed", a_place(db))
    keep(settings, [an_arrival(a_sample(0, 54, "temperature", "degF"), probe="shed")])
    assert "12.2 °C" in guest.get("/probes").text


def test_faults_stand_on_the_card(guest: TestClient, engine: Engine, settings: Settings) -> None:
    with engine.begin() as db:
        a_placement(db, "cellar-1", a_place(db))
        warning_id = a_warning(db, "saturated", probe="cellar-1", field="humidity", facts={})
    keep(settings, [READING])
    assert f'href="/warnings/{warning_id}"' in guest.get("/probes").text


def test_what_could_not_be_understood_is_shown_escaped_and_counted(
    guest: TestClient, engine: Engine, settings: Settings
) -> None:
    store = SqliteReadings(settings.readings_path)
    store.add(
        [
            Reject(
                "shed/<script>x</script>",
                "not JSON",
                b"{<script>y</script>\x00",
                ms(1),
            )
        ]
        * 3
    )
    store.close()
    page = guest.get("/probes").text
    assert "<script>x" not in page
    assert "<script>y" not in page
    assert "shed/&lt;script&gt;x&lt;/script&gt;: not JSON (3)" in page
    assert "{&lt;script&gt;y&lt;/script&gt;\\x00" in page
    assert "3 messages could not be understood in all." in page


def test_conflicts_are_told_in_words(guest: TestClient, engine: Engine, settings: Settings) -> None:
    keep(settings, [an_arrival(a_sample(0, 11.5))])
    keep(settings, [an_arrival(a_sample(0, 12.5))])
    assert "1 reading came again with another value; the later value holds." in guest.get("/probes").text


def test_a_flood_of_probes_does_not_fill_the_page(guest: TestClient, engine: Engine, settings: Settings) -> None:
    keep(settings, [an_arrival(probe=f"flood-{n}", minute=n) for n in range(MOST_UNPLACED + 12)])
    page = guest.get("/probes").text
    assert page.count("flood-") >= MOST_UNPLACED
    assert "And 12 more that were heard before these." in page
    assert ">flood-0<" not in page


def test_instruments_and_probes_put_away_stand_apart(
    guest: TestClient, owner: TestClient, engine: Engine, settings: Settings
) -> None:
    with engine.begin() as db:
        place_id = a_place(db)
        a_placement(db, f"typed/{place_id}/dial", place_id)
        a_placement(db, "cellar-1", place_id)
    keep(settings, [READING, an_arrival(probe=f"typed/{place_id}/dial")])
    assert owner.post("/probes/cellar-1/put-away").status_code == 303
    page = guest.get("/probes").text
    assert between(page, "Read by eye", "dial, Lower fridge")
    assert between(page, "In no place", "cellar-1")
    assert "Put away: nobody waits for it." in page


def test_only_an_owner_is_led_to_connecting(guest: TestClient, owner: TestClient, engine: Engine) -> None:
    assert "/probes/connect" not in guest.get("/probes").text
    assert "/probes/connect" in owner.get("/probes").text


@pytest.mark.parametrize("then", ["reading", "warning", "reject"])
def test_the_part_is_empty_until_something_changes(
    guest: TestClient, engine: Engine, settings: Settings, then: str
) -> None:
    keep(settings, [READING])
    tag = {"If-None-Match": guest.get("/probes/part").headers["etag"]}
    assert guest.get("/probes/part", headers=tag).status_code == 304
    if then == "reading":
        keep(settings, [an_arrival(minute=3)])
    elif then == "warning":
        with engine.begin() as db:
            a_warning(db, "stuck", probe="cellar-1", facts={})
    else:
        keep(settings, [Reject("x", "not JSON", b"", ms(4))])
    assert guest.get("/probes/part", headers=tag).status_code == 200
