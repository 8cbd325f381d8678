"""Entries over the wire: each stored once, odd ones flagged, what is no entry refused in words."""

import json
import uuid
from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from fastapi.testclient import TestClient
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import Engine, select

from collector.records.columns import new_id
from collector.records.engine import reading
from dashboard.people.person import Role
from dashboard.wheels import tables
from dashboard.wheels.book import wheels
from dashboard.wheels.entry_kinds import ENTRY_KINDS
from tests.dashboard.conftest import ADDRESS, NOW_AT
from tests.dashboard.dairy import a_place

MINUTE = timedelta(minutes=1)


def an_entry(body: dict[str, Any], *, minutes_ago: float = 1, **more: Any) -> dict[str, Any]:
    """An entry as a phone sends it."""
    when = (NOW_AT - minutes_ago * MINUTE).isoformat()
    return {"id": new_id(), "wheel_id": new_id(), "done_at": when, "sent_at": NOW_AT.isoformat(), "body": body, **more}


def turned(**more: Any) -> dict[str, Any]:
    return an_entry({"kind": "care", "care": "turned"}, **more)


def send(client: TestClient, entry: dict[str, Any]) -> Any:
    return client.put(f"/api/entries/{entry['id']}", json=entry)


def test_an_entry_is_stored_and_the_same_again_is_said_so(helper: TestClient, engine: Engine) -> None:
    entry = turned()
    first, again = send(helper, entry), send(helper, {**entry, "sent_at": (NOW_AT + 9 * MINUTE).isoformat()})
    assert (first.status_code, first.json()["outcome"]) == (201, "stored")
    assert (again.status_code, again.json()["outcome"]) == (200, "same")
    with reading(engine) as db:
        kept = db.execute(select(tables.entry)).mappings().all()
    assert [row["id"] for row in kept] == [entry["id"]]
    assert kept[0]["who"].startswith("The helper")
    assert kept[0]["received_at"] == NOW_AT


def test_the_same_id_with_other_content_is_a_conflict_and_changes_nothing(helper: TestClient, engine: Engine) -> None:
    entry = turned()
    send(helper, entry)
    answer = send(helper, {**entry, "body": {"kind": "care", "care": "brushed"}})
    assert answer.status_code == 409
    assert answer.json()["error"]["what"] == "Something else is kept under this id."
    with reading(engine) as db:
        assert db.execute(select(tables.entry.c.body)).scalar_one() == {"kind": "care", "care": "turned"}


def test_what_is_odd_comes_back_with_the_answer_in_words(helper: TestClient, engine: Engine) -> None:
    answer = send(helper, turned())
    assert answer.json()["flags"] == [{"name": "unknown_wheel", "words": "no such wheel is in the book yet"}]


def test_an_implausible_weight_is_kept_and_flagged(helper: TestClient, engine: Engine) -> None:
    sheet = an_entry({"kind": "wheel", "code": "24-07B"}, minutes_ago=60)
    send(helper, sheet)
    weighings = [
        an_entry({"kind": "weighing", "scale_g": grams}, wheel_id=sheet["wheel_id"], minutes_ago=minutes)
        for grams, minutes in ((2_100, 30), (2_900, 5))
    ]
    answers = [send(helper, entry).json() for entry in weighings]
    assert answers[0]["flags"] == []
    assert [flag["name"] for flag in answers[1]["flags"]] == ["heavier"]


def test_a_wheel_that_was_cut_meanwhile_refuses_nothing(helper: TestClient, engine: Engine) -> None:
    sheet = an_entry({"kind": "wheel", "code": "24-07B"}, minutes_ago=60)
    cut = an_entry({"kind": "cut"}, wheel_id=sheet["wheel_id"], minutes_ago=30)
    late = turned(wheel_id=sheet["wheel_id"])
    answers = [send(helper, entry) for entry in (sheet, cut, late)]
    assert [answer.status_code for answer in answers] == [201, 201, 201]
    assert [flag["name"] for flag in answers[2].json()["flags"]] == ["after_end"]


def test_a_phone_whose_clock_is_ahead_is_set_right(helper: TestClient, engine: Engine) -> None:
    entry = turned(minutes_ago=-50, sent_at=(NOW_AT + 60 * MINUTE).isoformat())
    assert "clock_mended" in [flag["name"] for flag in send(helper, entry).json()["flags"]]
    with reading(engine) as db:
        assert db.execute(select(tables.entry.c.happened_at)).scalar_one() == NOW_AT - 10 * MINUTE


def test_a_move_brings_the_wheel_to_its_place(helper: TestClient, engine: Engine) -> None:
    with engine.begin() as db:
        place_id = a_place(db)
    sheet = an_entry({"kind": "wheel", "code": "24-07B"}, minutes_ago=60)
    send(helper, sheet)
    moved = an_entry({"kind": "moved"}, wheel_id=sheet["wheel_id"], place_id=place_id)
    assert send(helper, moved).json()["flags"] == []
    with reading(engine) as db:
        assert [wheel.place_id for wheel in wheels(db)] == [place_id]


def test_nobody_and_a_guest_keep_nothing(visitor: Callable[[Role], TestClient], engine: Engine) -> None:
    assert send(visitor("anyone"), turned()).status_code == 401
    assert send(visitor("guest"), turned()).status_code == 403
    assert helper_like(visitor("helper"), origin="https://elsewhere.example").status_code == 403


def helper_like(client: TestClient, origin: str) -> Any:
    entry = turned()
    return client.put(f"/api/entries/{entry['id']}", json=entry, headers={"Origin": origin})


@pytest.mark.parametrize(
    ("change", "field", "said"),
    [
        ({"body": {"kind": "weighing", "scale_g": 0}}, "body.weighing.scale_g", "greater than or equal to 1, got 0"),
        ({"body": {"kind": "weighing", "scale_g": 900, "tare_g": 950}}, "body.weighing", "above the board's 950 g"),
        ({"body": {"kind": "sung"}}, "body", "does not match any of the expected tags"),
        ({"done_at": "2026-03-12T14:00"}, "done_at", "timezone"),
        ({"wheel_id": None}, "entry", "a care needs wheel_id"),
        ({"id": str(uuid.UUID(int=7))}, "id", "id must be the one in the address"),
        ({"body": {"kind": "care", "care": "turned", "text": "a\0b"}}, "entry", "NUL"),
        ({"body": {"kind": "care", "care": "turned", "colour": "red"}}, "body.care.colour", "not permitted"),
    ],
)
def test_what_is_no_entry_is_refused_by_what_which_value_and_limit(
    helper: TestClient, engine: Engine, change: dict[str, Any], field: str, said: str
) -> None:
    entry = turned()
    answer = helper.put(f"/api/entries/{entry['id']}", json={**entry, **change})
    assert answer.status_code == 422
    error = answer.json()["error"]
    assert error["field"] == field
    assert said in error["what"]
    assert "Enter it once more, then throw this one away." in error["hint"]


# A UUIDv4 (RFC 9562, appendix A.3) tells nothing of when it was made.
@pytest.mark.parametrize("id", ["919108f7-52d1-4320-9bac-f847db4148a8", "12", "0" * 36])
def test_an_id_must_be_a_uuid_of_version_7(helper: TestClient, engine: Engine, id: str) -> None:
    assert helper.put(f"/api/entries/{id}", json={**turned(), "id": id}).status_code == 422


def test_what_is_not_json_or_too_large_is_refused(helper: TestClient, engine: Engine) -> None:
    path, headers = f"/api/entries/{new_id()}", {"Content-Type": "application/json"}
    assert helper.put(path, content=b'{"id": ', headers=headers).status_code == 422
    assert helper.put(path, content=b"[" * 100_000, headers=headers).status_code in {400, 422}
    assert helper.put(path, content=b'"' + b"x" * 2_100_000 + b'"', headers=headers).status_code == 413


texts = st.text(max_size=20) | st.sampled_from(["turned", "2026-03-12T14:00:00Z", "24-07B", "\ud800", "1e999"])
scalars = st.none() | st.booleans() | st.integers() | st.floats() | texts
anything = st.recursive(
    scalars, lambda inner: st.lists(inner, max_size=4) | st.dictionaries(texts, inner, max_size=4), max_leaves=12
)
FIELDS = ("id", "wheel_id", "place_id", "gear_id", "group_id", "done_at", "sent_at", "zone", "typed_time", "replaces")
BODY_FIELDS = (
    "kind", "care", "scale_g", "tare_g", "pieces", "note", "how_much", "text", "photos", "side", "parts", "code",
    "made_on", "from_at", "to_at", "of", "name", "word", "plan", "chore", "strength_pct",
)  # fmt: skip
bodies = st.fixed_dictionaries(
    {"kind": st.sampled_from(sorted(ENTRY_KINDS))}, optional=dict.fromkeys(BODY_FIELDS[1:], anything)
)
entries = st.fixed_dictionaries(
    {"body": bodies | anything, "done_at": st.just(NOW_AT.isoformat()) | anything},
    optional={name: anything for name in FIELDS if name != "done_at"},
)


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(sent=entries | anything, about=st.booleans())
def test_whatever_is_sent_is_kept_or_refused_in_words(
    helper: TestClient, engine: Engine, sent: Any, about: bool
) -> None:
    """Never an error of ours, and what was kept once is the same when it is sent again."""
    id = new_id()
    if isinstance(sent, dict) and about:
        sent = {**{name: str(uuid.UUID(int=1)) for name in ("wheel_id", "place_id", "gear_id")}, **sent, "id": id}
    content = json.dumps(sent).encode()
    answers = [
        helper.put(f"/api/entries/{id}", content=content, headers={"Content-Type": "application/json"})
        for _ in range(2)
    ]
    if answers[0].status_code == 201:
        assert (answers[1].status_code, answers[1].json()["outcome"]) == (200, "same")
        return
    assert answers[0].status_code == 422, answers[0].text
    assert answers[0].json()["error"]["what"]


def test_the_description_of_the_api_names_both_ways_in(helper: TestClient) -> None:
    paths = helper.get("/api/openapi.json", headers={"Origin": ADDRESS}).json()["paths"]
    assert {"/api/entries/{id}", "/api/photos/{id}"} <= set(paths)


FAR = ("1900-01-01T00:00:00Z", "1970-01-01T00:00:00+14:00", "2100-01-01T00:00:00Z", "2199-12-31T23:59:59Z")
BEYOND = ("0001-01-01T00:00:00+14:00", "1899-12-31T23:59:59Z", "2200-01-01T00:00:00Z", "9999-12-31T23:59:59-12:00")


@pytest.mark.parametrize("done_at", FAR)
@pytest.mark.parametrize("sent_at", [*FAR, NOW_AT.isoformat()])
def test_a_clock_that_is_far_off_costs_no_entry(helper: TestClient, engine: Engine, done_at: str, sent_at: str) -> None:
    answer = send(helper, {**turned(), "done_at": done_at, "sent_at": sent_at})
    assert answer.status_code == 201
    assert [flag["name"] for flag in answer.json()["flags"] if flag["name"].startswith("clock")]


@pytest.mark.parametrize("name", ["done_at", "sent_at"])
@pytest.mark.parametrize("at", BEYOND)
def test_a_time_that_no_clock_shows_is_refused(helper: TestClient, engine: Engine, name: str, at: str) -> None:
    answer = send(helper, {**turned(), name: at})
    assert (answer.status_code, answer.json()["error"]["field"]) == (422, name)
