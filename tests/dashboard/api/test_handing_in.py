"""Readings over HTTP end as readings, once, under the token's own probe."""

import json
from datetime import timedelta

import pytest
from fastapi.testclient import TestClient
from sqlalchemy import Engine, insert

from collector.clock import ManualClock
from collector.handed import MOST_WAITING, take_handed
from collector.intake.intake import Intake
from collector.intake.payloads.envelope import PAYLOAD_LIMIT
from collector.readings.model import Arrival
from collector.readings.store import SqliteReadings
from collector.records.columns import to_ms
from collector.records.tables import handed_message
from collector.settings import Settings
from tests.dashboard.conftest import NOW_AT
from tests.dashboard.people.test_tokens import a_token

PATH = "/api/probes/cellar/readings"
TAKEN_S = to_ms(NOW_AT) // 1_000 - 60
PACK = [{"n": "temperature", "u": "Cel", "v": 11.5, "t": TAKEN_S}, {"n": "humidity", "u": "%RH", "v": 88, "t": TAKEN_S}]


class Chosen:
    filters = ()
    hints: dict[str, object] = {}  # noqa: RUF012 - a stand-in that nobody writes to


@pytest.fixture
def store(settings: Settings) -> SqliteReadings:
    from collector.prepare import prepare

    prepare(settings)
    return SqliteReadings(settings.readings_path)


def taken_in(engine: Engine, store: SqliteReadings, clock: ManualClock) -> int:
    intake = Intake(store, clock, Chosen(), lambda _state, _reason: None)  # type: ignore[arg-type]
    return take_handed(engine, store, intake.read)


def test_a_pack_becomes_readings_of_that_probe_once(
    stranger: TestClient, engine: Engine, store: SqliteReadings, clock: ManualClock
) -> None:
    token = a_token(engine, "write", probe="cellar")
    for _ in range(2):
        answer = stranger.post(PATH, content=json.dumps(PACK), headers=token)
        assert (answer.status_code, answer.json()) == (202, {"probe": "cellar", "taken": 2, "refused": []})
    assert taken_in(engine, store, clock) == 2
    assert taken_in(engine, store, clock) == 0
    with store.transaction() as db:
        rows = db.execute(
            "SELECT c.probe, c.field, r.value FROM reading r JOIN channel c ON c.id = r.channel"
        ).fetchall()
    assert sorted(tuple(row) for row in rows) == [("cellar", "humidity", 88.0), ("cellar", "temperature", 11.5)]
    store.close()


def test_a_crash_before_they_are_dropped_doubles_nothing(
    stranger: TestClient, engine: Engine, clock: ManualClock
) -> None:
    kept: list[Arrival] = []

    class Crashing:
        def add(self, arrivals: list[Arrival]) -> int:
            kept.extend(arrivals)
            raise RuntimeError("killed after the commit")

    stranger.post(PATH, content=b'{"temperature": 11.5}', headers=a_token(engine, "write", probe="cellar"))
    intake = Intake(Crashing(), clock, Chosen(), lambda _state, _reason: None)  # type: ignore[arg-type]
    for _ in range(2):
        with pytest.raises(RuntimeError, match="killed"):
            take_handed(engine, Crashing(), intake.read)  # type: ignore[arg-type]
        clock.advance(timedelta(minutes=1))
    keys = {(a.probe, s.field, s.taken_ms) for a in kept for s in a.samples}
    assert len(keys) == 1, "what has no time of its own keeps the time at which it was handed in"


def test_a_token_poses_as_no_other_probe(stranger: TestClient, engine: Engine) -> None:
    token = a_token(engine, "write", probe="cellar")
    answer = stranger.post("/api/probes/fridge/readings", content=json.dumps(PACK), headers=token)
    assert answer.status_code == 403
    assert "another probe" in answer.json()["error"]["what"]


def test_people_hand_in_by_role(guest: TestClient, helper: TestClient, stranger: TestClient) -> None:
    body = json.dumps(PACK)
    assert stranger.post(PATH, content=body).status_code == 401
    assert guest.post(PATH, content=body).status_code == 403
    assert helper.post(PATH, content=body).status_code == 202


@pytest.mark.parametrize(
    ("payload", "said"),
    [(b"", "empty"), (b"\xff\xfe\x00", "Not understood"), (b"hello", "Not understood"),
     (json.dumps([{"n": "temperature", "u": "Cel", "v": 11, "t": 300_000_000}]).encode(), "before 2000"),
     (b'[{"n":"temperature","u":"Cel","v":1e999}]', "number")],
)  # fmt: skip
def test_what_cannot_be_understood_is_told_at_once(helper: TestClient, payload: bytes, said: str) -> None:
    answer = helper.post(PATH, content=payload)
    assert answer.status_code == 422
    assert said in answer.json()["error"]["what"]


def test_a_message_too_long_is_stopped(helper: TestClient) -> None:
    assert helper.post(PATH, content=b" " * (PAYLOAD_LIMIT + 1)).status_code == 413


@pytest.mark.parametrize("probe", ["a%2Fb", "%2B", "%23", "-", "a%00b", "%20"])
def test_a_name_that_no_topic_may_have_is_refused(helper: TestClient, probe: str) -> None:
    answer = helper.post(f"/api/probes/{probe}/readings", content=json.dumps(PACK))
    assert answer.status_code in {404, 422}


def test_a_collector_that_fetches_nothing_fills_no_disk(helper: TestClient, engine: Engine) -> None:
    row = {"topic": "rindwatch/cellar/readings", "payload": b"1", "received_at": NOW_AT}
    with engine.begin() as db:
        db.execute(insert(handed_message), [row] * MOST_WAITING)
    answer = helper.post(PATH, content=json.dumps(PACK))
    assert answer.status_code == 503
    assert "send it again later" in answer.json()["error"]["hint"]
