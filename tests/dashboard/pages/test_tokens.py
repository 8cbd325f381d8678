"""The page of programs: a token is shown once, seen with its last use, and ended."""

import re

from fastapi.testclient import TestClient
from sqlalchemy import Engine

from collector.records.engine import reading
from dashboard.people import tokens

NEW = {"name": "<b>hall</b>", "read": "yes", "write": "yes", "probe": "cellar"}


def made(owner: TestClient) -> str:
    found = re.search(r"<code data-secret>(\S+)</code>", owner.post("/settings/programs", data=NEW).text)
    assert found is not None
    return found[1]


def test_a_token_is_shown_once_and_works(owner: TestClient, stranger: TestClient) -> None:
    token = made(owner)
    later = owner.get("/settings/programs").text
    assert token not in later
    assert "&lt;b&gt;hall&lt;/b&gt;" in later
    assert "Hand in readings of one probe: cellar" in later
    assert "not used yet" in later
    assert stranger.get("/api/probes", headers={"Authorization": f"Bearer {token}"}).status_code in {200, 503}
    assert "not used yet" not in owner.get("/settings/programs").text


def test_ending_it_shuts_it_out(owner: TestClient, stranger: TestClient, engine: Engine) -> None:
    token = made(owner)
    with reading(engine) as db:
        [held] = tokens.tokens(db)
    assert owner.post(f"/settings/programs/{held.id}/end").status_code == 303
    assert owner.post(f"/settings/programs/{held.id}/end").status_code == 404
    assert stranger.get("/api/places", headers={"Authorization": f"Bearer {token}"}).status_code == 401
    assert "No program has a token." in owner.get("/settings/programs").text


def test_a_refused_one_keeps_what_was_typed(owner: TestClient) -> None:
    answer = owner.post("/settings/programs", data={"name": "hall"})
    assert answer.status_code == 422
    assert "at least one thing" in answer.text
    assert 'value="hall"' in answer.text
