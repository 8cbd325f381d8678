"""A disk that fills under a commit, a photo, a backup or a migration, and gets room again: what that costs."""

import shutil
import time
import zipfile
from collections import Counter
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

import pytest

from collector.backup.taking import take
from collector.errors import NotPrepared, StoreFull
from collector.prepare import prepare, prepare_apart
from collector.settings import Settings
from dashboard.wheels.photo_files import keep_file, photo_path, whole
from tests.brokers import Broker, wait_for
from tests.collector.backup.everything import every_row
from tests.dashboard.wheels.test_photos import a_jpeg
from tests.faults.conftest import CollectorProcess, kept, newest
from tests.faults.outcome import Outcome
from tests.faults.small_disk import fill
from tests.faults.steady_probe import SteadyProbe, until

RELEASED = Path(__file__).parents[1] / "upgrade" / "released" / "0.1.0.zip"
NOW = datetime(2026, 3, 12, 3, tzinfo=UTC)


@dataclass
class BrokerElsewhere(Broker):
    """A broker beside the small disk, for a collector whose data lie on it."""

    data: Path = Path()

    @property
    def environment(self) -> dict[str, str]:
        return super().environment | {"RINDWATCH_DATA": str(self.data)}


def full_at_a_commit(disk: Path, elsewhere: Path, times: int) -> Outcome:
    """The disk of a running collector fills while a probe sends; recovered is counted from when there is room."""
    broker = BrokerElsewhere("mosquitto", elsewhere, data=disk / "data")
    prepare(Settings(data=broker.data))
    broker.start()
    collector = CollectorProcess(broker)
    outcome = Outcome("disk full during a commit", times, note=broker.kind)
    collector.start()
    collector.wait_connected()
    probe = SteadyProbe(broker.port, None)
    try:
        probe.start()
        until(lambda: newest(broker.data, "steady") >= 0)
        for _ in range(times):
            told = collector.log.read_text().count("disk full")
            ballast = fill(disk)
            wait_for(lambda: collector.log.read_text().count("disk full") > told, 60, "the full disk noticed")  # noqa: B023
            ballast.unlink()
            mark = float(probe.sent)
            outcome.recovered_s.append(until(lambda: newest(broker.data, "steady") >= mark))  # noqa: B023
        probe.rest()
        until(lambda: newest(broker.data, "steady") == probe.sent - 1)
    finally:
        probe.close()
        collector.kill()
        broker.stop()
    found = Counter(value for _, value in kept(broker.data, "steady"))
    outcome.sent = probe.sent
    outcome.lost = probe.sent - len(found)
    outcome.doubled = found.total() - len(found)
    return outcome


def full_at_a_photo(disk: Path, times: int) -> Outcome:
    """Photos instead of readings: each is refused as a whole, none that was kept is hurt, and it goes in later."""
    photos, outcome = disk / "photos", Outcome("disk full during a photo", times, note="photos, not readings")
    names = [keep_file(photos, a_jpeg())]
    for number in range(times):
        photo = a_jpeg() + bytes(50_000 + number)
        ballast = fill(disk)
        with pytest.raises(OSError, match="No space left"):
            keep_file(photos, photo)
        assert sum(path.is_file() for path in photos.rglob("*")) == len(names)  # no half of it
        ballast.unlink()
        began = time.monotonic()
        names.append(keep_file(photos, photo))
        outcome.recovered_s.append(time.monotonic() - began)
    outcome.sent = len(names)
    outcome.lost = sum(not whole(photo_path(photos, name), name) for name in names)
    outcome.doubled = sum(path.is_file() for path in photos.rglob("*")) - len(names)
    shutil.rmtree(photos)
    return outcome


def full_at_a_backup(data: Path, disk: Path, times: int) -> Outcome:
    """The place of the copies fills; what is copied stays as it was, no half is left, and the next copy is whole."""
    settings, outcome = Settings(data=data), Outcome("disk full during a backup", times)
    before, there = _readings(settings), {path.name for path in disk.iterdir()}
    for number in range(times):
        ballast = fill(disk, number % 5 * 30_000)
        with pytest.raises(StoreFull):
            take(settings, disk / "all.zip", NOW)
        assert {path.name for path in disk.iterdir()} == there | {"ballast"}
        ballast.unlink()
        began = time.monotonic()
        take(settings, disk / "all.zip", NOW)
        outcome.recovered_s.append(time.monotonic() - began)
        (disk / "all.zip").unlink()
    return _compared(outcome, before, _readings(settings))


def full_at_a_migration(disk: Path, times: int) -> Outcome:
    """A folder of the first release is opened by the newest code on a disk without room, then with room."""
    outcome = Outcome("disk full during a migration", times)
    before, after = Counter[object](), Counter[object]()
    for number in range(times):
        settings = Settings(data=disk / f"data{number}")
        with zipfile.ZipFile(RELEASED) as file:
            file.extractall(settings.data)
        before += _readings(settings)
        ballast = fill(disk, number % 5 * 15_000)
        with pytest.raises(NotPrepared):
            prepare_apart(settings)
        ballast.unlink()
        began = time.monotonic()
        prepare(settings)
        outcome.recovered_s.append(time.monotonic() - began)
        after += _readings(settings)
        shutil.rmtree(settings.data)
    return _compared(outcome, before, after)


def _readings(settings: Settings) -> Counter[object]:
    return Counter(every_row(settings.readings_path)["reading"])


def _compared(outcome: Outcome, before: Counter[object], after: Counter[object]) -> Outcome:
    outcome.sent = before.total()
    outcome.lost = (before - after).total()
    outcome.doubled = (after - before).total()
    return outcome
