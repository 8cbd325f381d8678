"""A data folder with everything in it: readings, rollups, records, a book, photos, secrets, a waiting import."""

import shutil
from pathlib import Path

import pytest
from sqlalchemy import insert

from collector.prepare import prepare
from collector.readings.rollups import follow
from collector.readings.store import SqliteReadings
from collector.records.engine import open_records
from collector.records.tables import place, setting
from collector.settings import Settings, write_secret
from dashboard.wheels.photo_files import keep_file
from tests.builders import a_stretch_of

PHOTOS = [b"\xff\xd8\xff" + bytes([i]) * (5_000 + i) for i in range(4)]  # invented, and enough for a checksum


@pytest.fixture(scope="session")
def full_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    data = tmp_path_factory.mktemp("full") / "data"
    fill_folder(data)
    return data


def fill_folder(data: Path) -> None:
    """Something of everything."""
    settings = Settings(data=data)
    prepare(settings)
    store = SqliteReadings(settings.readings_path)
    store.add(a_stretch_of([12 + i % 7 / 10 for i in range(500)]))
    store.add(a_stretch_of([80 + i % 9 for i in range(300)], field="humidity", unit="%RH", probe="cellar-2"))
    while follow(store):
        pass
    store.close()
    records = open_records(settings.records_at)
    with records.begin() as db:
        db.exec_driver_sql("PRAGMA defer_foreign_keys=ON")  # the child before its parent: the order that is hardest
        box = {"id": "inner", "name": "box", "kind": "box", "parent_id": "cave", "position": 1}
        cave = {"id": "cave", "name": "cellar", "kind": "cave", "parent_id": None, "position": 0}
        db.execute(insert(place), [box, cave])
        db.execute(insert(setting), [{"key": "household.dairy_name", "value": "Käserei “Ö”"}])
    records.dispose()
    for photo in PHOTOS:
        keep_file(data / "photos", photo)
    write_secret(settings.secrets_folder / "probe-password", "rind and air")
    (settings.import_folder / "old log.csv").write_text("when;temp\n")
    (settings.import_folder / "done" / "taken.csv").write_text("x")
    (data / "cache").mkdir()
    (data / "cache" / "chart.json").write_text("{}")


@pytest.fixture
def settings(full_folder: Path, tmp_path: Path) -> Settings:
    shutil.copytree(full_folder, tmp_path / "data")
    return Settings(data=tmp_path / "data")
