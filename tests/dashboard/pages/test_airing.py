"""Airing: what opening the door would do, told for each cave. The physics are tested with the rule."""

from datetime import timedelta

import pytest
from fastapi.testclient import TestClient
from sqlalchemy import Engine

from collector.readings.model import Arrival, Sample
from collector.records.columns import to_ms
from collector.settings import Settings
from tests.dashboard.conftest import NOW_AT
from tests.dashboard.dairy import a_place, a_placement, a_target, keep


def air(probe: str, temperature_c: float, humidity_pct: float, hours_ago: float = 0.05) -> Arrival:
    taken = to_ms(NOW_AT - timedelta(hours=hours_ago))
    samples = (
        Sample("temperature", taken, temperature_c, "Cel", "temperature"),
        Sample("humidity", taken, humidity_pct, "%RH", "humidity"),
    )
    return Arrival(probe, probe, taken, samples)


@pytest.fixture
def cave(engine: Engine, settings: Settings) -> str:
    """A cave at 12 degrees and 97 %, which should have at most 92 %, with a box in it."""
    with engine.begin() as db:
        place_id = a_place(db)
        a_place(db, "Box", "box", parent_id=place_id)
        a_target(db, place_id)
        a_placement(db, "cellar-1", place_id)
    keep(settings, [air("cellar-1", 12.0, 97.0, 0.2), air("cellar-1", 12.0, 97.0)])
    return place_id


@pytest.fixture
def garden(engine: Engine) -> str:
    with engine.begin() as db:
        place_id = a_place(db, "North wall", "outside")
        a_placement(db, "out", place_id, site="outside")
    return place_id


def test_a_probe_outside_answers_by_itself(guest: TestClient, settings: Settings, cave: str, garden: str) -> None:
    keep(settings, [air("out", 6.0, 70.0, 0.2), air("out", 6.0, 70.0)])
    page = guest.get("/airing").text
    assert "Outside: <strong>6.0 °C, 70 %</strong>" in page
    assert "Measured at north wall" in page
    assert "Airing now helps: it would dry and cool it." in page
    assert "Its target wants drier air." in page
    assert ">Box" not in page


def test_summer_air_would_wet_the_wheels(guest: TestClient, settings: Settings, cave: str, garden: str) -> None:
    keep(settings, [air("out", 26.0, 60.0, 0.2), air("out", 26.0, 60.0)])
    page = guest.get("/airing").text
    assert "Better not air now. Water would come down on the wheels" in page
    assert "g more in each m³ outside" in page


def test_one_typed_air_is_enough_and_is_not_kept(guest: TestClient, cave: str) -> None:
    assert "Nobody knows the air outside just now." in guest.get("/airing").text
    page = guest.get("/airing?temperature=43F&humidity=70").text
    # 43 F is 6.1 C by NIST SP 811 (2008), B.8.
    assert "Outside: <strong>6.1 °C, 70 %</strong>" in page
    assert "Airing now helps" in page
    assert "Nobody knows the air outside just now." in guest.get("/airing").text


def test_below_zero_can_be_said_without_a_minus(guest: TestClient, cave: str) -> None:
    assert "<strong>−4.5 °C, 80 %</strong>" in guest.get("/airing?temperature=4,5&humidity=80&below_zero=yes").text


@pytest.mark.parametrize(
    ("query", "said"),
    [
        ("temperature=25", "Both are needed"),
        ("humidity=60", "Both are needed"),
        ("temperature=54&humidity=60", "The temperature must be at most 50 °C, got &#39;54&#39;."),
        ("temperature=20&humidity=130", "The humidity must be at most 100 %"),
    ],
)
def test_an_air_that_cannot_be_is_refused(guest: TestClient, cave: str, query: str, said: str) -> None:
    answer = guest.get(f"/airing?{query}")
    assert answer.status_code == 422
    assert said in answer.text
    assert guest.get(f"/airing/part?{query}").status_code == 422


def test_what_was_typed_outside_a_short_while_ago_will_do(
    helper: TestClient, engine: Engine, settings: Settings, clock: object, cave: str, garden: str
) -> None:
    helper.post(
        "/readings/type",
        data={"place": garden, "temperature": "6", "humidity": "70", "instrument": "stick", "at": "2026-03-12T12:30"},
    )
    page = helper.get("/airing").text
    assert "Typed, stick" in page
    assert "Airing now helps" in page
    clock.advance(timedelta(hours=2))  # type: ignore[attr-defined]
    assert "Nobody knows the air outside just now." in helper.get("/airing").text


def test_a_wish_is_asked_instead_of_the_target(guest: TestClient, cave: str) -> None:
    page = guest.get("/airing?temperature=6&humidity=70&want=warmer").text
    assert "You want warmer air." in page
    assert "Better not air now: it would dry and cool it." in page


def test_the_best_hours_come_from_the_last_days(guest: TestClient, settings: Settings, cave: str, garden: str) -> None:
    """Nights at 2 degrees from 0 to 6, days at 16 degrees, four days long."""
    times = [NOW_AT - timedelta(minutes=10 * i + 1) for i in range(4 * 24 * 6)]
    keep(settings, [air("out", 2.0 if at.hour < 6 else 16.0, 80.0, (NOW_AT - at) / timedelta(hours=1)) for at in times])
    page = guest.get("/airing").text
    assert "Better hours, as the last days went" in page
    # Saturation over water 14.03 hPa at 12 °C and 7.06 hPa at 2 °C (WMO-No. 8, annex 4.B): 13.61 less 5.65 hPa, at
    # 12 °C and 461.5 J/(kg K) 6.0 g/m3.
    assert "00:00 to 06:00: up to 6.0 g/m³ drier" in page


def test_without_days_of_a_probe_there_are_no_best_hours(
    guest: TestClient, settings: Settings, cave: str, garden: str
) -> None:
    keep(settings, [air("out", 6.0, 70.0, 0.2), air("out", 6.0, 70.0)])
    assert "The best hours need two days of a probe outside." in guest.get("/airing").text


def test_a_cave_that_nobody_measures_asks_for_a_reading(
    guest: TestClient, engine: Engine, settings: Settings, cave: str
) -> None:
    with engine.begin() as db:
        a_place(db, "Counter", "counter", assumed_temperature_c=15.0, assumed_humidity_pct=70.0)
    page = guest.get("/airing?temperature=6&humidity=70").text
    assert "Nothing is measured in it just now." in page


def test_cautions_stand_there_marked_as_practice(guest: TestClient, engine: Engine) -> None:
    page = guest.get("/airing").text
    assert "carbon dioxide and ammonia" in page
    assert "Common practice, no source." in page


def test_the_part_is_empty_until_something_changes(
    guest: TestClient, settings: Settings, cave: str, garden: str
) -> None:
    keep(settings, [air("out", 6.0, 70.0, 0.2)])
    tag = {"If-None-Match": guest.get("/airing/part").headers["etag"]}
    assert guest.get("/airing/part", headers=tag).status_code == 304
    assert guest.get("/airing/part?want=drier", headers=tag).status_code == 200
    keep(settings, [air("out", 7.0, 70.0)])
    assert guest.get("/airing/part", headers=tag).status_code == 200
