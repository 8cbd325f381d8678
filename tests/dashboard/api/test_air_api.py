"""The API about places and their air: shapes, gaps, limits, and whom it answers."""

from datetime import timedelta

import pytest
from fastapi.testclient import TestClient
from sqlalchemy import Engine

from collector.records.columns import to_ms
from collector.settings import Settings
from tests.dashboard.conftest import NOW_AT
from tests.dashboard.dairy import a_place, a_placement, a_target, a_warning, keep
from tests.dashboard.places_seen import a_message, messages

NOW_MS = to_ms(NOW_AT)


def at(minutes_ago: float) -> str:
    return f"{NOW_AT - timedelta(minutes=minutes_ago):%Y-%m-%dT%H:%M:%SZ}"


@pytest.fixture
def fridge(settings: Settings, engine: Engine) -> str:
    """A fridge with a target and a probe: 12 degC and 88 % until an hour ago, then nothing for half an hour."""
    with engine.begin() as db:
        place_id = a_place(db)
        a_target(db, place_id)
        a_placement(db, "cellar-1", place_id)
    keep(settings, [*messages(until_min_ago=60, every_min=1, hours=2), *messages(every_min=1, hours=0.5)])
    return place_id


def test_places_tell_their_target(guest: TestClient, fridge: str) -> None:
    (found,) = guest.get("/api/places").json()
    assert (found["name"], found["kind"], found["target"]["humidity_high_pct"]) == ("Lower fridge", "cave", 92.0)
    assert guest.get(f"/api/places/{fridge}").json() == found


def test_the_air_now_is_told_with_its_state_and_source(guest: TestClient, fridge: str) -> None:
    found = guest.get(f"/api/places/{fridge}/air/now").json()
    assert (found["state"], found["headline"]) == ("good", "All right")
    assert found["temperature_c"] == {
        "value": 12.0, "uncertainty": 0.3, "origin": "median", "probes": ["cellar-1"],
        "taken_at": "2026-03-12T14:09:00Z",
    }  # fmt: skip
    assert found["surface_c"] is None
    # Magnus' formula, WMO-No. 8, annex 4.B: 10.07 degC.
    assert found["dew_point_c"] == pytest.approx(10.07, abs=0.03)


def test_the_air_of_a_span_comes_by_steps_with_gaps_as_null(guest: TestClient, fridge: str) -> None:
    found = guest.get(f"/api/places/{fridge}/air", params={"from": at(90), "to": at(0)}).json()
    assert (found["start_at"], found["step_s"]) == ("2026-03-12T12:40:00Z", 600)
    assert found["temperature_c"]["mean"] == [12.0, 12.0, 12.0, 12.0, None, 12.0, 12.0, 12.0, 12.0]
    assert found["humidity_pct"]["origin"][3:6] == ["median", "unknown", "median"]
    # The reading of 13:10 holds for three of its intervals, the first after the gap came at 13:39.
    assert found["humidity_pct"]["known"][:6] == [1.0, 1.0, 1.0, 0.3, 0.0, 0.1]
    assert found["dew_point_c"][4] is None


def test_the_readings_behind_the_air_are_told_with_their_doubt(guest: TestClient, engine: Engine, fridge: str) -> None:
    with engine.begin() as db:
        a_warning(db, "stuck", hours_ago=0.25, probe="cellar-1", field="humidity", facts={})
    found = guest.get(f"/api/places/{fridge}/air/raw", params={"from": at(18), "to": at(10)}).json()
    lines = {line["role"]: line for line in found["lines"]}
    assert lines["humidity"]["taken_at"][0] == "2026-03-12T13:52:00Z"
    assert len(lines["humidity"]["value"]) == 8
    # The spell began a quarter of an hour ago, at 13:55.
    assert lines["humidity"]["doubtful"] == [False, False, False, True, True, True, True, True]
    assert lines["temperature"]["doubtful"] == [False] * 8


def test_probes_and_channels_tell_their_newest_reading(guest: TestClient, fridge: str) -> None:
    (probe,) = guest.get("/api/probes").json()
    assert (probe["name"], probe["place_id"]) == ("cellar-1", fridge)
    channels = guest.get("/api/channels").json()
    assert probe["channels"] == channels
    newest = {channel["field"]: channel["last"]["value"] for channel in channels}
    assert newest == {"temperature": 12.0, "humidity": 88.0}


def test_readings_of_a_channel_come_as_sent_and_calibrated(
    guest: TestClient, settings: Settings, engine: Engine
) -> None:
    with engine.begin() as db:
        a_placement(db, "f", a_place(db))
    message = a_message("f", NOW_MS, 54.0, None)
    sample = message.samples[0]
    sent = type(sample)(sample.field, sample.taken_ms, 54.0, "degF", "temperature")
    keep(settings, [type(message)("f", message.topic, message.arrived_ms, (sent,))])
    number = guest.get("/api/channels").json()[0]["id"]
    found = guest.get(f"/api/channels/{number}/readings", params={"from": at(1), "to": at(-1)}).json()
    assert (found["as_sent"], found["unit_as_sent"], found["quantity_unit"]) == ([54.0], ["degF"], "Cel")
    assert found["value"] == pytest.approx([12.222], abs=0.001)


def test_warnings_are_told_without_a_rules_own_notes(guest: TestClient, engine: Engine, fridge: str) -> None:
    with engine.begin() as db:
        is_open = a_warning(db, place_id=fridge, facts={"last": 95.0, "ledger": [[1, 2]]})
        a_warning(db, "too_warm", hours_ago=48, for_h=2, place_id=fridge)
    (found,) = guest.get("/api/warnings", params={"open": True}).json()
    assert (found["id"], found["word"], found["facts"]) == (is_open, "too damp", {"last": 95.0})
    assert guest.get(f"/api/warnings/{is_open}").json() == found
    assert len(guest.get("/api/warnings", params={"place_id": fridge}).json()) == 2
    assert len(guest.get("/api/warnings", params={"since": at(60)}).json()) == 1


@pytest.mark.parametrize(
    "path",
    ["/api/places/none", "/api/places/none/air/now", "/api/channels/999/readings", "/api/warnings/none",
     "/api/places/none/air", "/api/places/none/air/raw", "/api/places/none/air.csv", "/api/channels/9/readings.csv"],
)  # fmt: skip
def test_what_is_not_there_is_told_in_the_apis_own_shape(guest: TestClient, fridge: str, path: str) -> None:
    answer = guest.get(path, params={"from": at(60), "to": at(0)})
    assert (answer.status_code, set(answer.json()["error"])) == (404, {"what", "hint"})


@pytest.mark.parametrize(
    ("span", "said"),
    [
        ({"from": "2026-03-12T00:00:00Z", "to": "2026-03-11T00:00:00Z"}, "to must lie after from"),
        ({"from": "2024-03-12T00:00:00Z", "to": "2026-03-12T00:00:00Z"}, "400 days apart, got 730"),
        ({"from": "2026-03-12T00:00:00", "to": "2026-03-13T00:00:00Z"}, "from: "),
        ({"from": "yesterday", "to": "2026-03-13T00:00:00Z"}, "from: "),
        ({"to": "2026-03-13T00:00:00Z"}, "from: "),
    ],
)
def test_a_span_that_cannot_be_is_refused_with_the_limit(
    guest: TestClient, fridge: str, span: dict[str, str], said: str
) -> None:
    answer = guest.get(f"/api/places/{fridge}/air", params=span)
    assert answer.status_code == 422
    assert said in answer.json()["error"]["what"]


def test_nobody_is_answered_without_signing_in(stranger: TestClient, fridge: str) -> None:
    for path in ("/api/places", f"/api/places/{fridge}/air.csv", "/api/warnings", "/api/openapi.json"):
        answer = stranger.get(path)
        assert (answer.status_code, "error" in answer.json()) == (401, True)


def test_every_part_of_the_api_describes_its_answers_and_refusals(guest: TestClient) -> None:
    described = guest.get("/api/openapi.json").json()
    ours = {path: doing for path, doing in described["paths"].items() if "places" in path or "channels" in path}
    assert len(ours) == 9
    for path, doing in ours.items():
        answers = doing["get"]["responses"]
        assert {"200", "401", "404", "422", "503"} <= set(answers)
        kind = "text/csv" if path.endswith(".csv") else "application/json"
        assert answers["200"]["content"][kind]["schema"], path
        assert answers["422"]["content"]["application/json"]["schema"]["$ref"].endswith("/Refusal")
