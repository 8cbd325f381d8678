"""Signing in, out, and setting a password by the one-time link."""

import pytest
from fastapi.testclient import TestClient
from sqlalchemy import Engine, insert

from collector.clock import ManualClock
from collector.records.columns import new_id
from collector.records.tables import person
from dashboard.people.links import issue_link
from tests.dashboard.conftest import NOW_AT

PASSWORD = "brine, cloth and ash"


@pytest.fixture
def link(engine: Engine, clock: ManualClock) -> str:
    return issue_link(engine, clock)


def _first(client: TestClient, link: str, **texts: str) -> object:
    return client.post(link, data={"name": "Keeper", "password": PASSWORD, "again": PASSWORD, **texts})


def test_a_link_a_password_and_one_is_in(stranger: TestClient, link: str) -> None:
    assert "Choose a password" in stranger.get(link).text
    answer = stranger.post(link, data={"name": "Keeper", "password": PASSWORD, "again": PASSWORD})
    assert (answer.status_code, answer.headers["location"]) == (303, "/")
    assert stranger.get("/settings").status_code == 200
    assert "Keeper, as owner" in stranger.get("/settings").text
    assert stranger.get(link).status_code == 410


@pytest.mark.parametrize(
    ("texts", "said"),
    [
        ({"password": "short", "again": "short"}, "Take 10 to 200 characters; this has 5."),
        ({"again": "another word"}, "The two passwords are not the same."),
        ({"name": " "}, "Take 1 to 80 characters as your name."),
    ],
)
def test_a_bad_first_password_is_explained_and_the_link_stays_good(
    stranger: TestClient, link: str, texts: dict[str, str], said: str
) -> None:
    answer = stranger.post(link, data={"name": "Keeper", "password": PASSWORD, "again": PASSWORD, **texts})
    assert answer.status_code == 422
    assert said in answer.text
    assert PASSWORD not in answer.text
    assert stranger.get(link).status_code == 200


@pytest.mark.parametrize("name", ["Keeper", " keeper", "KEEPER "])
def test_small_letters_do_for_large_ones(stranger: TestClient, link: str, name: str) -> None:
    _first(stranger, link)
    stranger.cookies.clear()
    assert stranger.post("/sign-in", data={"name": name, "password": PASSWORD}).status_code == 303


def test_of_two_names_alike_the_letters_decide(stranger: TestClient, engine: Engine, link: str) -> None:
    _first(stranger, link)
    stranger.cookies.clear()
    with engine.begin() as db:
        db.execute(insert(person), [{"id": new_id(), "name": "keeper", "role": "guest", "created_at": NOW_AT}])
    assert stranger.post("/sign-in", data={"name": "KEEPER", "password": PASSWORD}).status_code == 422
    assert stranger.post("/sign-in", data={"name": "keeper", "password": PASSWORD}).status_code == 422
    assert stranger.post("/sign-in", data={"name": "Keeper", "password": PASSWORD}).status_code == 303


def test_a_name_is_put_in_only_while_it_is_the_owners(stranger: TestClient, link: str) -> None:
    assert 'value="Owner"' in stranger.get("/sign-in").text
    _first(stranger, link)
    stranger.cookies.clear()
    assert 'value="Owner"' not in stranger.get("/sign-in").text


def test_wrong_name_and_wrong_password_read_the_same(stranger: TestClient, link: str) -> None:
    _first(stranger, link)
    stranger.cookies.clear()
    answers = [
        stranger.post("/sign-in", data={"name": name, "password": "not the words"}) for name in ("Keeper", "Nobody")
    ]
    assert [answer.status_code for answer in answers] == [422, 422]
    assert answers[0].text.replace("Keeper", "Nobody") == answers[1].text


def test_signing_in_goes_on_to_where_one_wanted_but_never_elsewhere(stranger: TestClient, link: str) -> None:
    _first(stranger, link)
    for after, arrived in (("/settings?a=1", "/settings?a=1"), ("//evil.example", "/"), ("https://evil.example", "/")):
        stranger.cookies.clear()
        answer = stranger.post("/sign-in", data={"name": "Keeper", "password": PASSWORD, "next": after})
        assert (answer.status_code, answer.headers["location"]) == (303, arrived)


def test_a_page_never_carries_a_foreign_address_on(stranger: TestClient) -> None:
    assert "evil.example" not in stranger.get("/sign-in?next=https://evil.example").text


def test_the_sixth_wrong_try_is_told_to_wait(stranger: TestClient, link: str) -> None:
    _first(stranger, link)
    stranger.cookies.clear()
    wrong = {"name": "Keeper", "password": "not the words"}
    assert [stranger.post("/sign-in", data=wrong).status_code for _ in range(6)] == [422] * 5 + [429]
    right = {"name": "Keeper", "password": PASSWORD}
    assert stranger.post("/sign-in", data=right).status_code == 429


def test_signing_out_ends_the_session_itself(stranger: TestClient, link: str) -> None:
    _first(stranger, link)
    token = dict(stranger.cookies)
    answer = stranger.post("/sign-out")
    assert answer.headers["location"] == "/sign-in"
    stranger.cookies.update(token)
    assert stranger.get("/more").status_code == 303


def test_the_old_password_does_not_work_after_a_new_one(
    stranger: TestClient, engine: Engine, clock: ManualClock, link: str
) -> None:
    _first(stranger, link)
    _first(stranger, issue_link(engine, clock), password="another four words", again="another four words")
    stranger.cookies.clear()
    assert stranger.post("/sign-in", data={"name": "Keeper", "password": PASSWORD}).status_code == 422
    new = {"name": "Keeper", "password": "another four words"}
    assert stranger.post("/sign-in", data=new).status_code == 303


def test_a_new_password_ends_every_older_sign_in(
    stranger: TestClient, engine: Engine, clock: ManualClock, link: str
) -> None:
    """Whoever has the lost phone must not stay in."""
    _first(stranger, link)
    lost = dict(stranger.cookies)
    stranger.cookies.clear()
    _first(stranger, issue_link(engine, clock), password="another four words", again="another four words")
    assert stranger.get("/more").status_code == 200
    stranger.cookies.clear()
    stranger.cookies.update(lost)
    assert stranger.get("/more").status_code == 303
