"""Records in a file: migrated once a session, copied for each test, because migrating takes longer than most tests."""

from pathlib import Path

import pytest

from collector.records.engine import open_records
from collector.records.facts import Place
from collector.records.migrate import migrate
from collector.records.places import add_place
from collector.records.tables import setting


@pytest.fixture(scope="session")
def empty_records(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Two places, and a household in UTC and degrees Celsius."""
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
