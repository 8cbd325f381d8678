"""A full disk under the readings: nothing is acknowledged that is not kept, and the collector recovers alone."""

import time
import zipfile
from datetime import UTC, datetime
from pathlib import Path

import pytest

from collector.backup.restoring import restore
from collector.backup.taking import take
from collector.errors import NotPrepared, StoreFull
from collector.intake.payloads import PackRecord, encode_senml
from collector.prepare import prepare, prepare_apart
from collector.readings.store import SqliteReadings
from collector.settings import Settings
from dashboard.wheels.photo_files import keep_file, photo_path, whole
from tests.brokers import Broker, need_mosquitto, wait_for
from tests.builders import a_sample, an_arrival
from tests.collector.backup.conftest import full_folder
from tests.collector.backup.everything import every_file, every_row
from tests.dashboard.wheels.test_photos import a_jpeg
from tests.faults.conftest import CollectorProcess, kept
from tests.faults.small_disk import fill, small_disk

__all__ = ["full_folder", "small_disk"]

pytestmark = [pytest.mark.root, pytest.mark.timeout(200)]


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
    data = small_disk / "data"
    prepare(Settings(data=data))
    broker = Broker("mosquitto", tmp_path)
    broker.start()
    collector = CollectorProcess(_with_data(broker, data))
    collector.start()
    try:
        client = broker.a_client("probe")
        start_s = int(time.time()) - 40_000

        def send(first: int, count: int) -> None:
            for number in range(first, first + count):
                payload = encode_senml([PackRecord("temperature", float(number), "Cel")], base_time_s=start_s + number)
                client.publish("rindwatch/timed/readings", payload, qos=1)

        wait_for(lambda: "broker_lost" not in collector.log.read_text() and _subscribed(client, data), 30)
        ballast = fill(small_disk)
        send(0, 1_500)
        wait_for(lambda: "disk full" in collector.log.read_text(), 60, "the full disk noticed")
        ballast.unlink()
        wait_for(lambda: len(kept(data, "timed")) == 1_500, 90, "everything stored once there was room")
    finally:
        collector.kill()
        broker.stop()


def _subscribed(client: object, data: Path) -> bool:
    client.publish("rindwatch/sentinel/readings", b'[{"n":"uptime","v":1,"u":"s"}]', qos=1)  # type: ignore[attr-defined]
    return bool(kept(data, "sentinel"))


def _with_data(broker: Broker, data: Path) -> Broker:
    """The same broker, for a collector whose data lie on the small disk."""

    class Elsewhere(Broker):
        @property
        def environment(self) -> dict[str, str]:
            return super().environment | {"RINDWATCH_DATA": str(data)}

    return Elsewhere(broker.kind, broker.folder, broker.port)


RELEASED = Path(__file__).parents[1] / "upgrade" / "released" / "0.1.0.zip"
NOW = datetime(2026, 3, 12, 3, tzinfo=UTC)


def test_a_photo_that_finds_no_room_leaves_no_half_and_goes_in_later(small_disk: Path) -> None:
    photos, photo = small_disk / "photos", a_jpeg()
    first = keep_file(photos, photo)
    ballast = fill(small_disk)
    for _ in range(5):
        with pytest.raises(OSError, match="No space left"):
            keep_file(photos, photo + bytes(50_000))
    assert whole(photo_path(photos, first), first)
    assert [p for p in photos.rglob("*") if p.is_file()] == [photo_path(photos, first)]
    ballast.unlink()
    second = keep_file(photos, photo + bytes(50_000))
    assert whole(photo_path(photos, second), second)


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
    files = every_file(settings.data)
    ballast = fill(small_disk, leave)
    if leave < 150_000:  # more is room enough for the migrations of today
        with pytest.raises(NotPrepared, match=r"disk is full|disk I/O error|No space left") as told:
            prepare_apart(settings)
        assert "Traceback" not in str(told.value)
    ballast.unlink()
    prepare(settings)
    after = every_row(settings.readings_path)
    assert {name: after[name] for name in before} == before
    assert every_file(settings.data) == files
