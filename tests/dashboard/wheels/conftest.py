"""An empty wheel book in each database that it can live in."""

import os
import shutil
import socket
import subprocess
import time
from collections.abc import Iterator
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from sqlalchemy import Connection, Engine, insert, text
from sqlalchemy.exc import OperationalError

from collector.records.engine import open_records
from collector.records.migrate import migrate
from collector.records.tables import place
from dashboard.wheels.schema import prepare_book
from tests.dashboard.wheels.builders import CELLAR, SHELF

PLACES = [
    {"id": CELLAR, "name": "lower cellar", "kind": "cave", "parent_id": None, "position": 0},
    {"id": SHELF, "name": "left shelf", "kind": "shelf", "parent_id": CELLAR, "position": 1},
]


@pytest.fixture(scope="session")
def empty_book(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Records and book brought up to the newest form once, with two places, to be copied."""
    path = tmp_path_factory.mktemp("book") / "records.sqlite3"
    engine = open_records(f"sqlite:///{path}")
    prepared(engine)
    engine.dispose()
    return path


def prepared(engine: Engine) -> Engine:
    migrate(engine)
    prepare_book(engine)
    with engine.begin() as db:
        db.execute(insert(place), PLACES)
    return engine


@pytest.fixture
def book(tmp_path: Path, empty_book: Path) -> Iterator[Engine]:
    """A fresh book in SQLite."""
    path = tmp_path / "records.sqlite3"
    shutil.copy(empty_book, path)
    engine = open_records(f"sqlite:///{path}")
    yield engine
    engine.dispose()


@pytest.fixture
def db(book: Engine) -> Iterator[Connection]:
    """A fresh book in SQLite, in a transaction."""
    with book.begin() as connection:
        yield connection


@pytest.fixture(scope="session")
def postgres_server() -> Iterator[str]:
    """The URL of a PostgreSQL server that lives as long as the tests do, or the one that the environment names."""
    given = os.environ.get("RINDWATCH_TEST_POSTGRES_URL")
    if given:
        yield given
        return
    programs = sorted(Path("/usr/lib/postgresql").glob("*/bin"))
    if not programs:
        assert os.environ.get("CI") != "true", "no PostgreSQL here: apt-get install postgresql"
        pytest.skip("no PostgreSQL on this machine")
    # Not among pytest's folders: those are shut to the user that the server runs as.
    with TemporaryDirectory(prefix="rindwatch-postgres-", ignore_cleanup_errors=True) as folder:
        yield from _server(programs[-1], Path(folder))


def _server(programs: Path, folder: Path) -> Iterator[str]:
    # The server refuses to run as root, so root hands it to the user that its package made.
    user = "postgres" if os.geteuid() == 0 else None
    if user:
        shutil.chown(folder, user)
    data, port = folder / "data", _free_port()
    subprocess.run(
        [programs / "initdb", "-D", data, "-U", "keeper", "--auth=trust", "-E", "UTF8", "--no-sync"],
        check=True,
        user=user,
        stdout=subprocess.DEVNULL,
    )
    options = ["-h", "127.0.0.1", "-p", str(port), "-k", str(folder), "-F"]
    server = subprocess.Popen(
        [programs / "postgres", "-D", data, *options], user=user, stderr=subprocess.DEVNULL, stdout=subprocess.DEVNULL
    )
    url = f"postgresql+psycopg://keeper@127.0.0.1:{port}/postgres"
    try:
        _wait_until_it_answers(url)
        yield url
    finally:
        server.terminate()
        server.wait(timeout=30)


def _free_port() -> int:
    with socket.socket() as found:
        found.bind(("127.0.0.1", 0))
        return int(found.getsockname()[1])


def _wait_until_it_answers(url: str) -> None:
    """It listens before it lets anybody in."""
    engine, deadline = open_records(url), time.monotonic() + 30
    while True:
        try:
            engine.connect().close()
        except OperationalError:
            if time.monotonic() > deadline:
                raise
            time.sleep(0.1)
        else:
            break
    engine.dispose()


@pytest.fixture
def postgres(postgres_server: str) -> Iterator[Engine]:
    """A fresh book in PostgreSQL."""
    engine = open_records(postgres_server)
    with engine.begin() as db:
        db.execute(text("DROP SCHEMA public CASCADE"))
        db.execute(text("CREATE SCHEMA public"))
    yield prepared(engine)
    engine.dispose()


@pytest.fixture(params=["sqlite", "postgresql"])
def any_book(request: pytest.FixtureRequest) -> Engine:
    """A fresh book in each database that it can live in."""
    return request.getfixturevalue("book" if request.param == "sqlite" else "postgres")
