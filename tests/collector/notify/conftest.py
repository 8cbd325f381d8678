"""Records for tests about messages: migrated once, copied for each test."""

import importlib
import warnings
from collections.abc import Iterator
from pathlib import Path

import pytest
from sqlalchemy import event

from collector.records.engine import open_records
from collector.records.facts import Place
from collector.records.migrate import migrate
from collector.records.places import add_place
from collector.records.tables import setting
from tests.collector.notify.builders import House

# Apprise's e-mail part loads a module that Python 3.13 leaves out, with a warning; it is loaded here without.
with warnings.catch_warnings():
    warnings.simplefilter("ignore", DeprecationWarning)
    importlib.import_module("apprise.plugins.email")


@pytest.fixture(scope="session")
def empty_records(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A migrated file of records, made once and copied: migrating takes longer than most tests."""
    path = tmp_path_factory.mktemp("records") / "records.sqlite3"
    engine = open_records(f"sqlite:///{path}")
    migrate(engine)
    with engine.begin() as connection:
        for position, (place_id, name) in enumerate((("lower", "Lower fridge"), ("cellar", "Cellar"))):
            add_place(connection, Place(place_id, name, "cave", position=position))
        for key, value in (("time_zone", "UTC"), ("temperature_unit", "C"), ("date_form", "day-month")):
            connection.execute(setting.insert().values(key=f"household.{key}", value=value))
    engine.dispose()
    return path


@pytest.fixture
def records_path(tmp_path: Path, empty_records: Path) -> Path:
    path = tmp_path / "records.sqlite3"
    path.write_bytes(empty_records.read_bytes())
    return path


@pytest.fixture
def house(records_path: Path) -> Iterator[House]:
    engine = open_records(f"sqlite:///{records_path}")
    event.listen(engine, "connect", lambda db, _record: db.execute("PRAGMA synchronous=OFF"))  # only to be quicker
    yield House(engine)
    engine.dispose()
