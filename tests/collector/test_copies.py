"""The automatic copies: one file a night, thinned, sent on, tried each month; each by real files and processes."""

import shlex
import shutil
import sys
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from sqlalchemy import Engine

from collector.backup import second_place
from collector.backup.errors import BackupAway, NoPlaceForCopies
from collector.backup.restoring import restore
from collector.backup.second_place import SecondPlace
from collector.backup.trying import try_newest, try_restore
from collector.clock import ManualClock
from collector.copies import PREFIX, SECOND, TRIAL, copies, copy_everything, made_at
from collector.records.engine import open_records
from collector.records.life import Sign, signs
from collector.settings import Settings
from tests.collector.backup.conftest import full_folder, settings
from tests.collector.backup.everything import every_file, every_row

__all__ = ["full_folder", "settings"]

NIGHT = datetime(2026, 3, 12, 3, 0, 5, tzinfo=UTC)


@pytest.fixture
def records(settings: Settings) -> Engine:
    return open_records(settings.records_at)


@pytest.fixture
def to_usb(settings: Settings, tmp_path: Path) -> Settings:
    return settings.model_copy(update={"backup_folder": tmp_path / "usb"})


def choose(records: Engine, kind: str, where: Path | str) -> None:
    with records.begin() as db:
        second_place.save(db, SecondPlace(kind, str(where)))


def sign_of(records: Engine, part: str) -> Sign:
    with records.connect() as db:
        return signs(db)[part]


def test_a_copy_goes_to_both_folders_and_either_gives_everything_back(
    to_usb: Settings, records: Engine, tmp_path: Path
) -> None:
    (tmp_path / "share").mkdir()
    choose(records, "folder", tmp_path / "share")
    made, where, reason = copy_everything(to_usb, records, ManualClock(NIGHT))
    assert (where, reason) == (str(tmp_path / "share"), "")
    [there] = copies(tmp_path / "share")
    assert there.read_bytes() == made.path.read_bytes()
    restore(there, tmp_path / "back")
    assert every_row(tmp_path / "back" / "readings.sqlite3") == every_row(to_usb.readings_path)
    files = every_file(tmp_path / "back")
    files.pop("settings.txt")
    assert files == every_file(to_usb.data)
    assert sign_of(records, SECOND).facts["good_ms"] == NIGHT.timestamp() * 1_000


def test_seven_nights_stay_and_half_made_ones_are_cleared_away(
    to_usb: Settings, records: Engine, tmp_path: Path
) -> None:
    usb = tmp_path / "usb"
    (usb / f"{PREFIX}20260301-030000.zip.spool").mkdir(parents=True)
    (usb / f"{PREFIX}20260301-030000.zip.part").write_text("half")
    for night in range(20):
        (usb / f"{PREFIX}{NIGHT + timedelta(days=night - 20):%Y%m%d-%H%M%S}.zip").write_bytes(b"")
    (usb / f"{PREFIX}20250101-030000").mkdir()  # as version 0.1.0 made them
    copy_everything(to_usb, records, ManualClock(NIGHT))
    times = [made_at(path) for path in copies(usb)]
    assert times[-7:] == [NIGHT - timedelta(days=i) for i in range(6, -1, -1)]
    assert datetime(2025, 1, 1, 3, tzinfo=UTC) in times
    assert not list(usb.glob("*.part"))
    assert not list(usb.glob("*.spool"))


def test_a_command_sends_each_copy_away_and_only_the_newest_waits_here(
    settings: Settings, records: Engine, tmp_path: Path
) -> None:
    (tmp_path / "far").mkdir()
    program = "import shutil, sys; shutil.copy(sys.argv[1], sys.argv[2])"
    command = shlex.join([sys.executable, "-c", program, "{file}", str(tmp_path / "far")])
    own = settings.model_copy(update={"copy_command": command})
    for day in range(3):
        copy_everything(own, records, ManualClock(NIGHT + timedelta(days=day)))
    assert len(list((tmp_path / "far").iterdir())) == 3
    assert len(copies(settings.data / "copies")) == 1


def test_a_second_place_that_is_gone_costs_only_itself(to_usb: Settings, records: Engine, tmp_path: Path) -> None:
    (tmp_path / "share").mkdir()
    choose(records, "folder", tmp_path / "share")
    copy_everything(to_usb, records, ManualClock(NIGHT))
    shutil.rmtree(tmp_path / "share")
    made, _, reason = copy_everything(to_usb, records, ManualClock(NIGHT + timedelta(days=1)))
    assert made.path.exists()
    assert "is the disk or share mounted?" in reason
    assert not (tmp_path / "share").exists()
    facts = sign_of(records, SECOND).facts
    assert facts["reason"] == reason
    assert facts["good_ms"] == NIGHT.timestamp() * 1_000


def test_without_any_place_no_copy_is_made(settings: Settings, records: Engine) -> None:
    with pytest.raises(NoPlaceForCopies, match=r"^no place for copies is named$") as told:
        copy_everything(settings, records, ManualClock(NIGHT))
    assert "RINDWATCH_BACKUP_FOLDER" in told.value.hint


def test_the_newest_copy_is_restored_on_trial_compared_and_deleted(to_usb: Settings, records: Engine) -> None:
    copy_everything(to_usb, records, ManualClock(NIGHT))
    tried = try_newest(to_usb, records, ManualClock(NIGHT))
    assert (tried.reason, tried.readings, tried.photos) == ("", 800, 4)
    assert tried.tables > 40
    assert [p.name for p in (to_usb.data / "cache").iterdir()] == ["chart.json"]
    assert sign_of(records, TRIAL).facts["well"] is True


def test_a_damaged_copy_fails_its_trial_and_the_part_is_named(
    to_usb: Settings, records: Engine, tmp_path: Path
) -> None:
    made, _, _ = copy_everything(to_usb, records, ManualClock(NIGHT))
    data = bytearray(made.path.read_bytes())
    data[200] ^= 1
    made.path.write_bytes(data)
    assert "damaged in readings.sqlite3" in try_newest(to_usb, records, ManualClock(NIGHT)).reason
    assert sign_of(records, TRIAL).facts["well"] is False
    assert not try_restore(tmp_path / "none.zip", tmp_path).well


def test_there_must_be_a_copy_to_try(to_usb: Settings, records: Engine) -> None:
    with pytest.raises(BackupAway, match="cannot be opened: no copy lies there yet"):
        try_newest(to_usb, records, ManualClock(NIGHT))
