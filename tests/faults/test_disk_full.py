"""A full disk under the readings: nothing is acknowledged that is not kept, and the collector recovers alone."""

import os
import subprocess
import time
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path

import pytest

from collector.errors import StoreFull
from collector.intake.payloads import PackRecord, encode_senml
from collector.prepare import prepare
from collector.readings.store import SqliteReadings
from collector.settings import Settings
from tests.brokers import Broker, need_mosquitto, wait_for
from tests.builders import a_sample, an_arrival
from tests.faults.conftest import CollectorProcess, kept

pytestmark = [pytest.mark.root, pytest.mark.timeout(200)]


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    folder = tmp_path / "small"
    folder.mkdir()
    mounted = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=40m", "tmpfs", folder], capture_output=True, check=False
    )
    if mounted.returncode:
        assert os.environ.get("CI") != "true", f"a small file system cannot be mounted: {mounted.stderr.decode()}"
        pytest.skip(f"a small file system cannot be mounted here: {mounted.stderr.decode().strip()}")
    yield folder
    subprocess.run(["umount", "-l", folder], check=True)


def fill(folder: Path) -> Path:
    """Take all the room there is."""
    path = folder / "ballast"
    handle = os.open(path, os.O_CREAT | os.O_WRONLY)
    for size in (65_536, 4_096, 1):
        with suppress(OSError):
            while os.write(handle, b"x" * size):
                pass
    os.close(handle)
    return path


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
