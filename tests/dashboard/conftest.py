"""A dashboard over fresh records, and people who are signed in to it."""

import shutil
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from datetime import UTC, datetime
from pathlib import Path

import pytest
from fastapi.testclient import TestClient
from sqlalchemy import Engine, insert

from collector.clock import ManualClock
from collector.records.columns import new_id
from collector.records.engine import open_records
from collector.records.migrate import migrate
from collector.records.tables import person, setting
from collector.settings import Settings
from dashboard.app import Dashboard, create_app
from dashboard.people import sessions
from dashboard.people.cookie import PLAIN_NAME
from dashboard.people.person import Role
from dashboard.settings import DashboardSettings
from dashboard.wheels.schema import prepare_book

ADDRESS = "http://192.168.7.20:8000"
NOW_AT = datetime(2026, 3, 12, 14, 10, tzinfo=UTC)


@pytest.fixture(scope="session")
def empty_records(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Records that were brought up to the newest form once, to be copied."""
    path = tmp_path_factory.mktemp("records") / "records.sqlite3"
    engine = open_records(f"sqlite:///{path}")
    migrate(engine)
    prepare_book(engine)
    engine.dispose()
    return path


@pytest.fixture
def settings(tmp_path: Path, empty_records: Path) -> Settings:
    """Settings of a fresh data folder with empty records in it."""
    shutil.copy(empty_records, tmp_path / "records.sqlite3")
    return Settings(data=tmp_path)


@pytest.fixture
def dashboard_settings() -> DashboardSettings:
    return DashboardSettings()


@pytest.fixture
def clock() -> ManualClock:
    return ManualClock(NOW_AT)


@pytest.fixture
def engine(settings: Settings) -> Iterator[Engine]:
    engine = open_records(settings.records_at)
    with engine.begin() as db:
        db.execute(insert(setting), [{"key": "household.time_zone", "value": "UTC"}])
        db.execute(insert(setting), [{"key": "first_start.done", "value": True}])
    yield engine
    engine.dispose()


@pytest.fixture
def app(settings: Settings, dashboard_settings: DashboardSettings, clock: ManualClock, engine: Engine) -> Dashboard:
    return create_app(settings, dashboard_settings, clock)


@pytest.fixture
def visitor(app: Dashboard, engine: Engine, clock: ManualClock) -> Iterator[Callable[[Role], TestClient]]:
    """Makes a browser that somebody of a role is signed in with; nobody for "anyone"."""
    with ExitStack() as stack:
        yield lambda role: stack.enter_context(signed_in(app, engine, clock, role))


def signed_in(app: Dashboard, engine: Engine, clock: ManualClock, role: Role) -> TestClient:
    client = TestClient(
        app, ADDRESS, headers={"Origin": ADDRESS}, follow_redirects=False, raise_server_exceptions=False
    )
    if role != "anyone":
        who = {"id": new_id(), "name": f"The {role} {new_id()}", "role": role, "created_at": clock.now()}
        with engine.begin() as db:
            db.execute(insert(person), [who])
            client.cookies.set(PLAIN_NAME, sessions.open_session(db, str(who["id"]), "a phone", clock.now()))
    return client


@pytest.fixture
def stranger(visitor: Callable[[Role], TestClient]) -> TestClient:
    return visitor("anyone")


@pytest.fixture
def guest(visitor: Callable[[Role], TestClient]) -> TestClient:
    return visitor("guest")


@pytest.fixture
def helper(visitor: Callable[[Role], TestClient]) -> TestClient:
    return visitor("helper")


@pytest.fixture
def owner(visitor: Callable[[Role], TestClient]) -> TestClient:
    return visitor("owner")
