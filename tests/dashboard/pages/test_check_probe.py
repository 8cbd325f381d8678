"""Checking a probe: the jar over salt, a second point, side by side, and what is kept of it."""

from collections.abc import Callable, Sequence
from datetime import timedelta

import pytest
from fastapi.testclient import TestClient
from sqlalchemy import Engine

from collector.clock import ManualClock
from collector.readings.model import Arrival, Sample
from collector.records.columns import to_ms
from collector.records.engine import reading
from collector.records.facts import Calibration
from collector.records.places import load_facts
from collector.settings import Settings
from tests.dashboard.conftest import NOW_AT
from tests.dashboard.dairy import a_calibration, keep

PAGE = "/probes/check/cellar-1"
Course = Callable[[float], float]


def said(probe: str, minutes: Sequence[float], humidity: Course, temperature: Course) -> list[Arrival]:
    """What a probe says, minutes from the visit's now on."""
    found = []
    for minute in minutes:
        taken_ms = to_ms(NOW_AT + timedelta(minutes=minute))
        samples = (
            Sample("humidity", taken_ms, humidity(minute), "%RH", "humidity"),
            Sample("temperature", taken_ms, temperature(minute), "Cel", "temperature"),
        )
        found.append(Arrival(probe, f"rindwatch/{probe}/readings", taken_ms, samples))
    return found


def checks(engine: Engine) -> list[Calibration]:
    with reading(engine) as db:
        return load_facts(db).calibrations.get(("cellar-1", "humidity"), [])


@pytest.fixture
def heard(settings: Settings, engine: Engine) -> None:
    keep(settings, said("cellar-1", range(-600, 1), lambda _: 86.0, lambda _: 12.0))


def closed(owner: TestClient, salt: str = "NaCl") -> None:
    assert owner.post(f"{PAGE}/close", data={"salt": salt}).status_code == 303


def settled_at(settings: Settings, minute: float, humidity: float, temperature: float = 12.0) -> None:
    """An hour and a half of still readings from a minute on."""
    still = [minute + i for i in range(1, 91)]
    keep(settings, said("cellar-1", still, lambda m: humidity + 0.02 * (m % 2), lambda _: temperature))


def test_the_way_to_it_stands_on_the_probes_page(owner: TestClient, heard: None) -> None:
    assert f'href="{PAGE}"' in owner.get("/probes/cellar-1").text
    page = owner.get(PAGE).text
    assert "Never lithium chloride" in page
    assert 'value="LiCl"' not in page
    assert "A check is due now" in page


def test_a_moving_temperature_is_refused(
    owner: TestClient, settings: Settings, clock: ManualClock, engine: Engine, heard: None
) -> None:
    closed(owner)
    keep(settings, said("cellar-1", range(1, 91), lambda _: 74.1, lambda m: 12.0 + m / 60))
    clock.set(NOW_AT + timedelta(minutes=90))
    page = owner.get(f"{PAGE}?do=part").text
    assert "The temperature still moves" in page
    assert "Take this point" not in page
    refused = owner.post(f"{PAGE}/take")
    assert refused.status_code == 422
    assert "has not settled yet" in refused.text
    assert "What was found" not in refused.text


def test_one_point_over_table_salt_says_what_it_is_good_for(
    owner: TestClient, settings: Settings, clock: ManualClock, engine: Engine, heard: None
) -> None:
    closed(owner)
    settled_at(settings, 0, 74.15)
    clock.set(NOW_AT + timedelta(minutes=90))
    assert "Take this point" in owner.get(f"{PAGE}?do=part").text
    owner.post(f"{PAGE}/take")
    page = owner.get(PAGE).text
    # Greenspan 1977, polynomial of NaCl at 12 degC: 75.66 %.
    assert "At 76 % it reads 1.5 too low" in page
    assert "at 90 take ±4 until a second point" in page
    assert "A second point" in page
    owner.post(f"{PAGE}/keep", data={"since": "now"})
    kept = checks(engine)[-1]
    assert kept.method == "salt"
    assert kept.gain == 1
    assert kept.offset == pytest.approx(75.66 - 74.16, abs=0.03)
    assert kept.valid_from_at == clock.now()
    assert "checked 12 March 2026" in owner.get("/probes/cellar-1").text
    assert "salt in a jar (76 %)" in owner.get(PAGE).text


def test_two_points_give_the_slope_and_hold_from_the_first_reading_when_asked(
    owner: TestClient, settings: Settings, clock: ManualClock, engine: Engine, heard: None
) -> None:
    for start, salt, humidity in ((0, "NaCl", 74.0), (100, "K2SO4", 95.0)):
        clock.set(NOW_AT + timedelta(minutes=start))
        closed(owner, salt)
        settled_at(settings, start, humidity)
        clock.set(NOW_AT + timedelta(minutes=start + 90))
        owner.post(f"{PAGE}/take")
    assert "its slope is known too" in owner.get(PAGE).text
    owner.post(f"{PAGE}/keep", data={"since": "first"})
    kept = checks(engine)[-1]
    # (98.07 - 75.66) / (95.01 - 74.01), Greenspan 1977 at 12 degC.
    assert kept.gain == pytest.approx(22.41 / 21.0, abs=0.002)
    assert kept.valid_from_at == NOW_AT - timedelta(minutes=600)


def test_a_probe_that_is_impossibly_off_is_not_kept(
    owner: TestClient, settings: Settings, clock: ManualClock, engine: Engine, heard: None
) -> None:
    closed(owner)
    settled_at(settings, 0, 40.0)
    clock.set(NOW_AT + timedelta(minutes=90))
    owner.post(f"{PAGE}/take")
    assert "wrong salt, an open jar" in owner.get(PAGE).text
    assert owner.post(f"{PAGE}/keep", data={"since": "now"}).status_code == 422
    assert checks(engine) == []


def test_a_point_can_be_left_out_and_a_jar_opened(
    owner: TestClient, settings: Settings, clock: ManualClock, engine: Engine, heard: None
) -> None:
    closed(owner)
    owner.post(f"{PAGE}/open")
    assert "In the jar" not in owner.get(PAGE).text
    assert owner.post(f"{PAGE}/close", data={"salt": "LiCl"}).status_code == 422


def test_a_night_beside_a_checked_probe_is_a_check(
    owner: TestClient, settings: Settings, clock: ManualClock, engine: Engine, heard: None
) -> None:
    with engine.begin() as db:
        a_calibration(db, "spare", "humidity", offset=1.0, uncertainty=0.8)
    keep(settings, said("spare", range(-5, 1), lambda _: 86.0, lambda _: 12.0))
    answer = owner.post(f"{PAGE}/beside", data={"field": "humidity", "beside": "spare\thumidity"})
    assert answer.status_code == 303
    assert owner.post(f"{PAGE}/keep", data={"since": "now"}).status_code == 422
    minutes = range(1, 481)
    keep(settings, said("cellar-1", minutes, lambda m: 84.0 + m % 3 / 10, lambda _: 12.0))
    keep(settings, said("spare", minutes, lambda m: 86.0 + m % 3 / 10, lambda _: 12.0))
    clock.set(NOW_AT + timedelta(minutes=480))
    page = owner.get(PAGE).text
    assert "The comparison is complete" in page
    assert "+3.0" in page
    owner.post(f"{PAGE}/keep", data={"since": "now"})
    assert checks(engine)[-1].offset == pytest.approx(3.0, abs=0.05)
    assert checks(engine)[-1].method == "side_by_side"


def test_guests_look_on(guest: TestClient, heard: None) -> None:
    page = guest.get(PAGE).text
    assert "The jar is closed" not in page
    assert guest.post(f"{PAGE}/close", data={"salt": "NaCl"}).status_code == 403


@pytest.mark.parametrize("path", ["/probes/check/none", "/probes/check/"])
def test_a_probe_that_never_was_is_not_found(owner: TestClient, heard: None, path: str) -> None:
    assert owner.get(path).status_code == 404
