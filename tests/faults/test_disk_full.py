"""A full disk under the readings: nothing is acknowledged that is not kept, and the collector recovers alone."""

import os
import zipfile
from pathlib import Path

import pytest

from collector.backup.restoring import restore
from collector.backup.taking import take
from collector.errors import NotPrepared, StoreFull
from collector.prepare import prepare, prepare_apart
from collector.readings.store import SqliteReadings
from collector.settings import Settings
from tests.brokers import need_mosquitto
from tests.builders import a_sample, an_arrival
from tests.collector.backup.conftest import full_folder
from tests.collector.backup.everything import every_file, every_row
from tests.faults.disk_full import (
    NOW,
    RELEASED,
    full_at_a_backup,
    full_at_a_commit,
    full_at_a_migration,
    full_at_a_photo,
)
from tests.faults.outcome import held
from tests.faults.small_disk import fill, small_disk

__all__ = ["full_folder", "small_disk"]

pytestmark = [pytest.mark.root, pytest.mark.timeout(200)]
TIMES = int(os.environ.get("RINDWATCH_TEST_KILLS", "5"))


def test_a_full_disk_is_told_apart_and_undoes_the_whole_commit(small_disk: Path) -> None:
    store = SqliteReadings(small_disk / "readings.sqlite3")
    store.add([an_arrival(a_sample(0))])
    ballast = fill(small_disk)
    with pytest.raises(StoreFull, match="disk full, 5000 readings wait"):
        store.add([an_arrival(a_sample(i, probe_noise(i))) for i in range(5_000)])
    ballast.unlink()
    assert store.add([an_arrival(a_sample(i, probe_noise(i))) for i in range(5_000)]).kept == 4_999
    store.close()


def probe_noise(i: int) -> float:
    return 12 + i % 7 / 10


def test_readings_wait_at_the_broker_while_the_disk_is_full(small_disk: Path, tmp_path: Path) -> None:
    need_mosquitto()
    held(full_at_a_commit(small_disk, tmp_path, TIMES))


def test_a_full_disk_hurts_no_photo_no_backup_and_no_migration(small_disk: Path, full_folder: Path) -> None:
    held(
        full_at_a_photo(small_disk, TIMES),
        full_at_a_backup(full_folder, small_disk, TIMES),
        full_at_a_migration(small_disk, TIMES),
    )


@pytest.mark.parametrize("leave", [0, 20_000, 150_000])
def test_a_backup_that_finds_no_room_leaves_nothing_and_hurts_nothing(
    full_folder: Path, small_disk: Path, tmp_path: Path, leave: int
) -> None:
    settings = Settings(data=full_folder)
    ballast = fill(small_disk, leave)
    with pytest.raises(StoreFull, match="disk full"):
        take(settings, small_disk / "all.zip", NOW)
    assert [p.name for p in small_disk.iterdir()] == ["ballast"]
    ballast.unlink()
    take(settings, small_disk / "all.zip", NOW)
    ballast = fill(small_disk, leave)
    with pytest.raises(StoreFull, match="disk full"):
        restore(small_disk / "all.zip", small_disk / "back")
    assert not (small_disk / "back").exists()
    ballast.unlink()
    restore(small_disk / "all.zip", tmp_path / "back")
    assert every_row(tmp_path / "back" / "records.sqlite3") == every_row(full_folder / "records.sqlite3")


@pytest.mark.parametrize("leave", [0, 8_192, 40_000, 70_000, 150_000])
def test_a_migration_that_finds_no_room_is_told_and_loses_nothing(small_disk: Path, leave: int) -> None:
    with zipfile.ZipFile(RELEASED) as file:
        file.extractall(small_disk / "data")
    settings = Settings(data=small_disk / "data")
    before = every_row(settings.readings_path)
    before.pop("pack")  # rollups once more, made anew after an upgrade
    files = every_file(settings.data)
    ballast = fill(small_disk, leave)
    if leave < 150_000:  # more is room enough for the migrations of today
        with pytest.raises(NotPrepared, match=r"disk is full|disk I/O error|No space left") as told:
            prepare_apart(settings)
        assert "Traceback" not in str(told.value)
    ballast.unlink()
    prepare(settings)
    after = every_row(settings.readings_path)
    for name, rows in before.items():
        columns = len(rows[0]) if rows else 0  # later ones may have come
        assert [row[:columns] for row in after[name]] == rows, name
    assert every_file(settings.data) == files
