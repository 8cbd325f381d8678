"""Brokers and collectors that a test may kill."""

import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

from collector.prepare import prepare
from collector.settings import Settings
from tests.brokers import Broker, need_mosquitto, wait_for


@pytest.fixture(params=["embedded", "mosquitto"])
def broker(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Broker]:
    if request.param == "mosquitto":
        need_mosquitto()
    prepare(Settings(data=tmp_path))
    broker = Broker(request.param, tmp_path)
    broker.start()
    yield broker
    broker.stop()


@dataclass
class CollectorProcess:
    """A collector as `rindwatch collect` runs it."""

    broker: Broker
    process: subprocess.Popen[bytes] | None = None

    @property
    def log(self) -> Path:
        return self.broker.folder / "collector.log"

    def start(self) -> None:
        with self.log.open("ab") as log:
            command = [sys.executable, "-m", "collector.cli", "collect"]
            self.process = subprocess.Popen(command, env=self.broker.environment, stdout=log, stderr=log)

    def kill(self) -> None:
        assert self.process is not None
        self.process.kill()
        self.process.wait()

    def stop(self) -> None:
        if self.process is not None and self.process.poll() is None:
            self.process.terminate()
            assert self.process.wait(20) == 0, self.log.read_text()[-2000:]

    def wait_connected(self) -> None:
        """Until it has taken its subscription, so that the broker queues for it from now on."""
        data = Path(self.broker.environment["RINDWATCH_DATA"])
        assert Settings(data=data).readings_path.exists()
        client = self.broker.a_client("waits-for-collector")
        before = len(kept(data, "sentinel"))

        def there() -> bool:
            client.publish("rindwatch/sentinel/readings", b'[{"n":"uptime","v":1,"u":"s"}]', qos=1)
            return len(kept(data, "sentinel")) > before

        wait_for(there, 90, "the collector takes messages")
        client.disconnect()
        client.loop_stop()


def kept(folder: Path, probe: str, field: str | None = None) -> list[tuple[int, float]]:
    """Readings of a probe as they lie in the store: taken_ms and value."""
    from contextlib import closing

    from collector.readings.schema import open_reader

    with closing(open_reader(Settings(data=folder).readings_path)) as db:
        return db.execute(
            "SELECT taken_ms, value FROM reading JOIN channel ON id=channel WHERE probe=? AND (? IS NULL OR field=?)"
            " ORDER BY taken_ms",
            (probe, field, field),
        ).fetchall()


def newest(folder: Path, probe: str) -> float:
    """The value that a probe measured last, -1 before any: a quicker question than all of them."""
    from contextlib import closing

    from collector.readings.schema import open_reader

    with closing(open_reader(Settings(data=folder).readings_path)) as db:
        query = "SELECT value FROM reading JOIN channel ON id=channel WHERE probe=? ORDER BY taken_ms DESC LIMIT 1"
        found = db.execute(query, (probe,)).fetchone()
    return -1.0 if found is None else float(found[0])


@pytest.fixture
def collector(broker: Broker) -> Iterator[CollectorProcess]:
    collector = CollectorProcess(broker)
    yield collector
    if collector.process is not None and collector.process.poll() is None:
        collector.process.kill()
        collector.process.wait()
