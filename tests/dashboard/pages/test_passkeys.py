"""Passkeys from the page to the records: made with the password, signing in, refused when copied, ended by a reset."""

import html
import json
import re
from collections.abc import Callable, Iterator
from datetime import timedelta
from typing import Any

import pytest
from fastapi.testclient import TestClient
from sqlalchemy import Engine, insert, select, update

from collector.clock import ManualClock
from collector.records.columns import new_id
from collector.records.tables import passkey, person, person_change
from collector.settings import Settings
from dashboard.app import Dashboard
from dashboard.people import passkeys, sessions
from dashboard.people.cookie import SECURE_NAME
from dashboard.people.links import issue_link
from dashboard.people.passkey_answers import Made
from dashboard.people.passkey_questions import text_of
from dashboard.people.passwords import hash_password
from dashboard.people.resetting import reset_link
from dashboard.settings import DashboardSettings
from tests.dashboard.conftest import ADDRESS
from tests.dashboard.people.authenticator import Authenticator

HOST, HOME = "cave.home.arpa", "https://cave.home.arpa:8443"
PASSWORD = "brine, cloth and ash"
PAGE = "/settings/sign-in"
MAKING = PAGE + "/passkeys"


@pytest.fixture(scope="session")
def password_hash() -> str:
    return hash_password(PASSWORD)


@pytest.fixture
def dashboard_settings() -> DashboardSettings:
    return DashboardSettings(base_address=HOME)


@pytest.fixture
def browser(app: Dashboard) -> Iterator[Callable[..., TestClient]]:
    """Opens a browser at the house's https name, that nobody is signed in with."""
    opened: list[TestClient] = []

    def opens(address: str = HOME) -> TestClient:
        client = TestClient(
            app, address, headers={"Origin": address}, follow_redirects=False, raise_server_exceptions=False
        )
        opened.append(client.__enter__())
        return client

    yield opens
    for client in opened:
        client.__exit__(None, None, None)


@pytest.fixture
def keeper(engine: Engine, clock: ManualClock, password_hash: str) -> str:
    """The id of an owner who has a password."""
    row = {"id": new_id(), "name": "Keeper", "role": "owner", "created_at": clock.now(), "password_hash": password_hash}
    with engine.begin() as db:
        db.execute(insert(person), [row])
    return str(row["id"])


@pytest.fixture
def signed_in(browser: Callable[..., TestClient], keeper: str, engine: Engine, clock: ManualClock) -> TestClient:
    client = browser()
    with engine.begin() as db:
        client.cookies.set(SECURE_NAME, sessions.open_session(db, keeper, "a phone", clock.now()))
    return client


def options_of(page: str) -> dict[str, Any]:
    found = re.search(r'data-options="([^"]+)"', page)
    assert found is not None, page
    return dict(json.loads(html.unescape(found[1])))


def make(client: TestClient) -> Authenticator:
    phone = Authenticator(HOST, HOME)
    options = options_of(client.post(MAKING, data={"name": "my phone", "password": PASSWORD}).text)
    answer = client.post(f"{MAKING}/keep", data={"credential": json.dumps(phone.make(options))})
    assert (answer.status_code, answer.headers.get("location")) == (303, PAGE), answer.text
    return phone


@pytest.fixture
def phone(engine: Engine, keeper: str, clock: ManualClock) -> Authenticator:
    """A phone that holds the keeper's passkey, which has signed five times."""
    held = Authenticator(HOST, HOME, text_of(keeper.encode()), count=5)
    with engine.begin() as db:
        passkeys.add(db, (keeper, "Keeper"), "my phone", Made(text_of(held.id), held.public_key, 5), HOST, clock.now())
    held.count = 6
    return held


def enter(client: TestClient, phone: Authenticator, **more: str) -> Any:
    options = client.post("/sign-in/passkey/question").json()
    return client.post("/sign-in/passkey", data={"credential": json.dumps(phone.sign(options)), **more})


def kept(engine: Engine) -> list[Any]:
    with engine.connect() as db:
        return list(db.execute(select(passkey)).all())


def told(engine: Engine) -> list[tuple[str, str, str]]:
    with engine.connect() as db:
        rows = db.execute(select(person_change).order_by(person_change.c.at)).all()
    return [(row.what, row.by, row.facts.get("name", "")) for row in rows if row.what.startswith("passkey")]


def test_a_passkey_is_made_signs_in_is_seen_and_removed(
    signed_in: TestClient, browser: Callable[..., TestClient], engine: Engine, clock: ManualClock
) -> None:
    assert "You have no passkey." in signed_in.get(PAGE).text
    assert "passkey" not in browser().get("/sign-in").text, "nobody has one yet"
    phone = make(signed_in)
    assert "not used yet" in " ".join(re.sub("<[^>]+>", "", signed_in.get(PAGE).text).split())
    stranger = browser()
    assert "Sign in with a passkey" in stranger.get("/sign-in").text
    clock.advance(timedelta(minutes=5))
    answer = enter(stranger, phone, next="/makes")
    assert (answer.status_code, answer.headers["location"]) == (303, "/makes")
    assert "Keeper, as owner" in stranger.get("/settings").text
    [row] = kept(engine)
    assert (row.name, row.host, row.last_used_at) == ("my phone", HOST, clock.now())
    assert signed_in.post(f"{MAKING}/{row.id}/remove").status_code == 303
    assert "not known here" in enter(browser(), phone).text
    assert told(engine) == [("passkey", "Keeper", "my phone"), ("passkey_gone", "Keeper", "my phone")]
    assert "passkey my phone made" in signed_in.get("/settings/changes?kind=people").text


def test_nobody_makes_one_without_the_password(signed_in: TestClient, app: Dashboard, engine: Engine) -> None:
    wrong = {"name": "my phone", "password": "not the words"}
    first = signed_in.post(MAKING, data=wrong)
    assert (first.status_code, "That is not your password." in first.text) == (422, True)
    assert [app.state.house.tries.take("keeper", "testclient") for _ in range(5)] == [True] * 4 + [False]
    assert "Too many tries." in signed_in.post(MAKING, data=wrong).text
    assert signed_in.post(f"{MAKING}/keep", data={"credential": '{"id":"a"}'}).status_code == 422
    assert kept(engine) == []


@pytest.mark.parametrize("name", [" ", "x" * 61, "a\u202eb"])
def test_a_name_that_cannot_be_is_refused(signed_in: TestClient, name: str) -> None:
    answer = signed_in.post(MAKING, data={"name": name, "password": PASSWORD})
    assert answer.status_code == 422
    assert "1 to 60 characters" in answer.text


def test_an_answer_counts_once_in_time_and_for_its_own_session(
    signed_in: TestClient, browser: Callable[..., TestClient], engine: Engine, clock: ManualClock, keeper: str
) -> None:
    phone = Authenticator(HOST, HOME)
    options = options_of(signed_in.post(MAKING, data={"name": "one", "password": PASSWORD}).text)
    answer = {"credential": json.dumps(phone.make(options))}
    other = browser()
    with engine.begin() as db:
        other.cookies.set(SECURE_NAME, sessions.open_session(db, keeper, "another", clock.now()))
    assert "begun elsewhere" in other.post(f"{MAKING}/keep", data=answer).text
    assert signed_in.post(f"{MAKING}/keep", data=answer).status_code == 303
    assert signed_in.post(f"{MAKING}/keep", data=answer).status_code == 422, "a replayed answer"
    options = options_of(signed_in.post(MAKING, data={"name": "two", "password": PASSWORD}).text)
    clock.advance(timedelta(minutes=5))
    late = signed_in.post(f"{MAKING}/keep", data={"credential": json.dumps(Authenticator(HOST, HOME).make(options))})
    assert "took too long" in late.text
    assert [row.name for row in kept(engine)] == ["one"]


def test_a_sign_in_is_good_once_and_in_the_browser_that_was_asked(
    phone: Authenticator, browser: Callable[..., TestClient]
) -> None:
    mine, other = browser(), browser()
    data = {"credential": json.dumps(phone.sign(mine.post("/sign-in/passkey/question").json()))}
    other.post("/sign-in/passkey/question")
    assert other.post("/sign-in/passkey", data=data).status_code == 422
    assert mine.post("/sign-in/passkey", data=data).status_code == 303
    mine.cookies.delete(SECURE_NAME)
    assert "took too long" in mine.post("/sign-in/passkey", data=data).text, "a replayed answer"


def test_a_count_that_goes_backwards_is_refused_and_told(
    phone: Authenticator, signed_in: TestClient, browser: Callable[..., TestClient], engine: Engine
) -> None:
    assert enter(browser(), phone).status_code == 303
    forged = Authenticator(HOST, HOME, phone.user_id, id=phone.id, count=1)
    assert enter(browser(), forged).status_code == 422
    assert kept(engine)[0].doubted_at is None, "whoever has no key raises no alarm"
    phone.count = 6
    answer = enter(browser(), phone)
    assert answer.status_code == 422
    assert "count went backwards" in answer.text
    phone.count = 7
    assert "count went backwards" in enter(browser(), phone).text, "from then on it is refused"
    assert "Refused since" in signed_in.get(PAGE).text
    assert told(engine)[-1] == ("passkey_doubt", "Keeper", "my phone")
    assert "refused: its count went backwards" in signed_in.get("/settings/changes?kind=people").text


def test_somebody_elses_handle_or_an_ended_access_lets_nobody_in(
    phone: Authenticator, browser: Callable[..., TestClient], engine: Engine, clock: ManualClock
) -> None:
    theirs = Authenticator(HOST, HOME, "b3RoZXI", phone.key, phone.id)
    assert "not known here" in enter(browser(), theirs).text
    with engine.begin() as db:
        db.execute(update(person).values(to_at=clock.now()))
    answer = enter(browser(), phone)
    assert (answer.status_code, "set-cookie" in answer.headers) == (403, False)


@pytest.mark.parametrize("by", ["reset on the machine", "a new password"])
def test_a_reset_ends_passkeys(
    phone: Authenticator, signed_in: TestClient, engine: Engine, clock: ManualClock, settings: Settings, by: str
) -> None:
    if by == "a new password":
        link = issue_link(engine, clock)
        assert len(kept(engine)) == 1
        signed_in.post(link, data={"name": "Keeper", "password": PASSWORD, "again": PASSWORD})
    else:
        reset_link(settings, None, clock)
    assert kept(engine) == []
    assert told(engine)[-1][0] == "passkey_gone"


def test_tries_are_counted_as_those_with_a_password(
    phone: Authenticator, app: Dashboard, browser: Callable[..., TestClient]
) -> None:
    stranger = browser()
    phone.origin = "https://evil.example"
    assert [app.state.house.tries.take("keeper", "testclient") for _ in range(4)] == [True] * 4
    assert [enter(stranger, phone).status_code for _ in range(2)] == [422, 429]
    right = {"name": "Keeper", "password": PASSWORD}
    assert stranger.post("/sign-in", data=right).status_code == 429
    asked = [stranger.post("/sign-in/passkey/question").status_code for _ in range(19)]
    assert asked == [200] * 18 + [429]


def test_at_an_address_of_numbers_and_over_http_they_are_not_offered(
    phone: Authenticator, browser: Callable[..., TestClient], owner: TestClient
) -> None:
    for address in (ADDRESS, "https://192.168.7.20:8443"):
        other = browser(address)
        page = other.get("/sign-in").text
        assert "Sign in with a passkey" not in page
        assert f'A passkey signs in at <a href="{HOME}/sign-in">' in page
        assert other.post("/sign-in/passkey/question").status_code == 422
        assert other.post("/sign-in/passkey", data={"credential": "{}"}).status_code == 422
    assert "Passkeys need https and a name" in owner.get(PAGE).text
    assert owner.post(MAKING, data={"name": "a", "password": PASSWORD}).status_code == 422


def test_another_site_starts_nothing(signed_in: TestClient, browser: Callable[..., TestClient]) -> None:
    other = browser()
    other.headers["Origin"] = "https://evil.example"
    assert other.post("/sign-in/passkey/question").status_code == 403
    assert other.post("/sign-in/passkey", data={"credential": "{}"}).status_code == 403
    signed_in.headers["Origin"] = "https://evil.example"
    assert signed_in.post(MAKING, data={"name": "a", "password": PASSWORD}).status_code == 403


def test_an_oversized_answer_is_stopped(browser: Callable[..., TestClient]) -> None:
    assert browser().post("/sign-in/passkey", data={"credential": "x" * 70_000}).status_code == 413
