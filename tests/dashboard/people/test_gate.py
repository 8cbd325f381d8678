"""Nobody passes who is not known, from a page that is not ours, or by a name that is not this machine's."""

from collections.abc import Callable
from datetime import timedelta

import pytest
from fastapi.testclient import TestClient
from sqlalchemy import Engine, insert, select, update
from starlette.websockets import WebSocketDisconnect

from collector.clock import ManualClock
from collector.records.columns import new_id
from collector.records.engine import reading
from collector.records.tables import person, session
from collector.settings import Settings
from dashboard.app import create_app
from dashboard.household import Household
from dashboard.household_kept import save
from dashboard.people import sessions
from dashboard.people.cookie import PLAIN_NAME, SECURE_NAME
from dashboard.settings import DashboardSettings
from tests.dashboard.conftest import ADDRESS

LOOPBACK = ("127.0.0.1", 50000)


def test_a_stranger_is_sent_to_sign_in_and_on_again(stranger: TestClient) -> None:
    answer = stranger.get("/settings?a=b&c=%20d")
    assert answer.status_code == 303
    assert answer.headers["location"] == "/sign-in?next=%2Fsettings%3Fa%3Db%26c%3D%2520d"


def test_a_stranger_learns_nothing_of_what_exists(stranger: TestClient) -> None:
    assert stranger.get("/more").status_code == stranger.get("/no-such-page").status_code == 303
    assert stranger.post("/begin/done").status_code == stranger.post("/no-such-page").status_code == 401


@pytest.mark.parametrize("origin", ["http://evil.example", "null", "http://192.168.7.20:9999"])
def test_another_sites_form_changes_nothing(owner: TestClient, origin: str) -> None:
    assert owner.post("/begin/done", headers={"Origin": origin}).status_code == 403
    assert owner.post("/begin/done", headers={"Sec-Fetch-Site": "cross-site"}).status_code == 403
    assert owner.post("/begin/done").status_code == 303


@pytest.mark.parametrize("scheme", ["http", "https"])
def test_both_ways_to_tell_an_own_change_hold_on_a_name_of_the_house(
    settings: Settings, engine: Engine, clock: ManualClock, scheme: str
) -> None:
    """Browsers say Sec-Fetch-Site only on trusted connections; over plain http on a name the Origin decides."""
    app = create_app(settings, DashboardSettings(trusted_hosts="cave.lan"), clock)
    with engine.begin() as db:
        who = {"id": new_id(), "name": "A", "role": "owner", "created_at": clock.now()}
        db.execute(insert(person), [who])
        token = sessions.open_session(db, str(who["id"]), "a phone", clock.now())
    name = SECURE_NAME if scheme == "https" else PLAIN_NAME
    browser = TestClient(
        app, f"{scheme}://cave.lan:8000", headers={"Cookie": f"{name}={token}"}, follow_redirects=False
    )
    fetch = {"Sec-Fetch-Site": "same-origin"} if scheme == "https" else {}
    foreign = {"Sec-Fetch-Site": "cross-site"} if scheme == "https" else {}
    assert browser.post("/begin/done", headers={"Origin": f"{scheme}://cave.lan:8000", **fetch}).status_code == 303
    for origin in (
        "http://evil.example",
        f"{scheme}://cave.lan:9000",
        "null",
        f"{scheme}://cave.lan.evil.example:8000",
    ):
        assert browser.post("/begin/done", headers={"Origin": origin, **foreign}).status_code == 403, origin
    assert browser.post("/begin/done", headers=foreign).status_code == 403, "a cookie without any word where it is from"


def test_a_foreign_name_for_this_machine_is_refused(owner: TestClient, stranger: TestClient) -> None:
    for path in ("/more", "/sign-in", "/static/x/rindwatch.css"):
        answer = owner.get(path, headers={"Host": "evil.example"})
        assert answer.status_code == 400
        assert "RINDWATCH_TRUSTED_HOSTS" in answer.text


def test_the_address_that_the_household_chose_is_ours(owner: TestClient, engine: Engine) -> None:
    host = {"Host": "cave.example.org"}
    assert owner.get("/more", headers=host).status_code == 400
    with engine.begin() as db:
        save(db, Household(base_address="https://cave.example.org"))
    assert owner.get("/more", headers=host).status_code == 200
    foreign_by_proxy = {"Origin": "https://cave.example.org", "Host": "192.168.7.20:8000"}
    assert owner.post("/begin/done", headers=foreign_by_proxy).status_code == 303


def test_a_phone_in_use_is_never_asked_again(owner: TestClient, clock: ManualClock) -> None:
    for _ in range(6):
        clock.advance(timedelta(days=390))
        answer = owner.get("/more")
        assert answer.status_code == 200
        assert "Max-Age=34560000" in answer.headers["set-cookie"]
    assert "set-cookie" not in owner.get("/more").headers


def test_a_phone_that_was_away_for_too_long_signs_in_again(owner: TestClient, clock: ManualClock) -> None:
    clock.advance(timedelta(days=401))
    assert owner.get("/more").status_code == 303


def test_a_use_is_noted_at_most_once_an_hour(owner: TestClient, clock: ManualClock, engine: Engine) -> None:
    def last_used() -> object:
        with reading(engine) as db:
            return db.execute(select(session.c.last_used_at)).scalar_one()

    before = last_used()
    clock.advance(timedelta(minutes=59))
    owner.get("/more")
    assert last_used() == before
    clock.advance(timedelta(minutes=1))
    owner.get("/more")
    assert last_used() == clock.now()


def test_access_that_was_given_for_a_time_ends_by_itself(
    helper: TestClient, clock: ManualClock, engine: Engine
) -> None:
    with engine.begin() as db:
        db.execute(update(person).values(from_at=clock.now(), to_at=clock.now() + timedelta(days=3)))
    assert helper.get("/more").status_code == 200
    clock.advance(timedelta(days=3))
    assert helper.get("/more").status_code == 303


def test_a_cookie_from_plain_http_is_no_good_on_https(owner: TestClient) -> None:
    assert owner.get(ADDRESS.replace("http:", "https:") + "/more").status_code == 303


def test_on_https_the_cookie_is_bound_to_host_and_connection(
    stranger: TestClient, engine: Engine, clock: ManualClock
) -> None:
    with engine.begin() as db:
        who = {"id": new_id(), "name": "A", "role": "guest", "created_at": clock.now()}
        db.execute(insert(person), [who])
        token = sessions.open_session(db, str(who["id"]), "a phone", clock.now())
    clock.advance(timedelta(hours=2))
    answer = stranger.get("https://192.168.7.20/more", headers={"Cookie": f"{SECURE_NAME}={token}"})
    assert answer.status_code == 200
    given = answer.headers["set-cookie"]
    assert given.startswith("__Host-rindwatch=")
    assert all(part in given for part in ("Secure", "HttpOnly", "SameSite=lax", "Path=/"))
    assert "Domain" not in given


@pytest.mark.parametrize(
    ("sign_in", "client", "host", "open_to"),
    [
        ("open-on-loopback", LOOPBACK, "localhost:8000", True),
        ("open-on-loopback", ("::1", 5), "[::1]:8000", True),
        ("open-on-loopback", LOOPBACK, "192.168.7.20:8000", False),
        ("open-on-loopback", ("192.168.7.30", 5), "localhost:8000", False),
        ("required", LOOPBACK, "localhost:8000", False),
    ],
)
def test_only_this_machines_own_browser_is_let_in_and_only_by_choice(
    settings: Settings,
    engine: Engine,
    clock: ManualClock,
    sign_in: str,
    client: tuple[str, int],
    host: str,
    open_to: bool,
) -> None:
    own = DashboardSettings(sign_in=sign_in)  # type: ignore[arg-type]
    app = create_app(settings, own, clock)
    browser = TestClient(app, f"http://{host}", follow_redirects=False, client=client)
    assert (browser.get("/settings").status_code == 200) is open_to


def test_a_web_socket_is_closed(stranger: TestClient) -> None:
    with pytest.raises(WebSocketDisconnect), stranger.websocket_connect("/more"):
        pass


def test_roles_hold_what_the_ones_below_hold(visitor: Callable[..., TestClient]) -> None:
    assert visitor("guest").get("/settings/https").status_code == 403
    assert visitor("helper").get("/settings/https").status_code == 403
    assert visitor("owner").get("/settings/https").status_code == 200
