"""Tokens open what they are for and nothing else; what is kept of them opens nothing."""

from datetime import timedelta

import pytest
from fastapi.testclient import TestClient
from sqlalchemy import Engine, select

from collector.clock import ManualClock
from collector.errors import EntryRefused
from collector.records.engine import reading
from collector.records.tables import api_token
from dashboard.people import tokens
from dashboard.people.tokens import NOTED_EVERY
from tests.dashboard.conftest import NOW_AT


def a_token(engine: Engine, *scopes: str, name: str = "hall", probe: str = "") -> dict[str, str]:
    with engine.begin() as db:
        token = tokens.make(db, name, scopes, probe, "Keeper", NOW_AT)
    return {"Authorization": f"Bearer {token}"}


def test_what_is_kept_opens_nothing(stranger: TestClient, engine: Engine) -> None:
    shown = a_token(engine, "read")["Authorization"].removeprefix("Bearer ")
    with reading(engine) as db:
        [row] = db.execute(select(api_token)).all()
    assert shown not in repr(row)
    assert stranger.get("/api/places", headers={"Authorization": f"Bearer {row.token_hash}"}).status_code == 401
    assert stranger.get("/api/places", headers={"Authorization": f"Bearer {shown}"}).status_code == 200


@pytest.mark.parametrize(
    ("scope", "opens"),
    [("read", {"/api/places": 200, "/api/channels/7/readings.csv": 403, "/api/openapi.json": 200}),
     ("export", {"/api/places": 403, "/api/warnings": 403, "/api/openapi.json": 200}),
     ("write", {"/api/places": 403, "/api/probes": 403, "/api/openapi.json": 200})],
)  # fmt: skip
def test_each_opens_only_its_own(stranger: TestClient, engine: Engine, scope: str, opens: dict[str, int]) -> None:
    token = a_token(engine, scope, probe="cellar")
    for path, status in opens.items():
        asked = path + ("?from=2026-03-01T00:00:00Z&to=2026-03-02T00:00:00Z" if path.endswith("csv") else "")
        assert stranger.get(asked, headers=token).status_code == status, path


def test_an_exporter_reaches_the_tables(stranger: TestClient, engine: Engine) -> None:
    asked = "/api/places/none/air.csv?from=2026-03-01T00:00:00Z&to=2026-03-02T00:00:00Z"
    assert stranger.get(asked, headers=a_token(engine, "export")).status_code in {404, 503}
    assert stranger.get(asked, headers=a_token(engine, "read", name="other")).status_code == 403


def test_no_token_opens_a_page_or_what_a_person_enters(stranger: TestClient, engine: Engine) -> None:
    token = a_token(engine, "read", "write", "export", probe="cellar")
    assert stranger.get("/caves", headers=token).status_code == 303
    assert stranger.post("/settings/programs", headers=token).status_code == 401
    put = stranger.put("/api/entries/01957a3c-0000-7000-8000-000000000002", json={}, headers=token)
    assert put.status_code == 401


def test_a_wrong_token_is_refused_also_beside_a_good_cookie(owner: TestClient) -> None:
    assert owner.get("/api/places").status_code == 200
    answer = owner.get("/api/places", headers={"Authorization": "Bearer rindwatch_guess"})
    assert answer.status_code == 401
    assert "not known here" in answer.json()["error"]["what"]


def test_an_ended_one_opens_nothing(stranger: TestClient, engine: Engine) -> None:
    token = a_token(engine, "read")
    with engine.begin() as db:
        [held] = tokens.tokens(db)
        assert tokens.end(db, held.id, "Keeper", NOW_AT) == "hall"
        assert tokens.end(db, held.id, "Keeper", NOW_AT) is None
    assert stranger.get("/api/places", headers=token).status_code == 401


def test_the_last_use_is_noted_every_ten_minutes(stranger: TestClient, engine: Engine, clock: ManualClock) -> None:
    token = a_token(engine, "read")

    def used() -> object:
        with reading(engine) as db:
            return tokens.tokens(db)[0].last_used_at

    assert used() is None
    stranger.get("/api/places", headers=token)
    assert used() == NOW_AT
    clock.advance(NOTED_EVERY - timedelta(seconds=1))
    stranger.get("/api/places", headers=token)
    assert used() == NOW_AT
    clock.advance(timedelta(seconds=1))
    stranger.get("/api/places", headers=token)
    assert used() == clock.now()


@pytest.mark.parametrize(
    ("name", "scopes", "probe", "field"),
    [(" ", ["read"], "", "name"), ("x" * 61, ["read"], "", "name"), ("a\0b", ["read"], "", "name"),
     ("hall", [], "", "scopes"), ("hall", ["all"], "", "scopes"), ("hall", ["write"], "", "probe"),
     ("hall", ["write"], "a/b", "probe"), ("hall", ["write"], "+", "probe"), ("hall", ["write"], "-", "probe")],
)  # fmt: skip
def test_what_cannot_be_is_refused(engine: Engine, name: str, scopes: list[str], probe: str, field: str) -> None:
    with engine.begin() as db, pytest.raises(EntryRefused) as refused:
        tokens.make(db, name, scopes, probe, "Keeper", NOW_AT)
    assert refused.value.field == field
