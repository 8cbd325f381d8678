"""The collector's own intake and store at the other end, on simulated time."""

import threading
from datetime import UTC, datetime
from pathlib import Path
from types import SimpleNamespace

from paho.mqtt.client import MQTTMessage
from pydantic import SecretStr

from collector.intake.address import BrokerAddress
from collector.intake.client import Connection
from collector.intake.intake import Intake
from collector.readings.model import Mark
from collector.readings.reader import Readings
from collector.readings.store import SqliteReadings
from tests.firmware_notes.end_to_end.broker import NAME, PASSWORD, USER, Broker
from tests.firmware_notes.end_to_end.receiver import MARKER
from tests.firmware_notes.end_to_end.world import World

FAR_MS = 4_000_000_000_000


class WorldClock:
    """The simulated world's true time."""

    def __init__(self, world: World) -> None:
        self.world = world

    def now(self) -> datetime:
        return datetime.fromtimestamp(self.world.true, UTC)


class MarkedIntake(Intake):
    """Counts the markers that come between the messages, so that a test knows how far it has got."""

    marks: threading.Semaphore
    subscribed: threading.Event

    def marker(self) -> tuple[str, bytes]:
        self.subscribed.set()
        return super().marker()

    def take(self, message: MQTTMessage) -> None:
        if str(message.topic) == MARKER:
            self.marks.release()
        else:
            super().take(message)


class House:
    """Connected, committing and acknowledging until it is closed."""

    def __init__(self, broker: Broker, world: World, folder: Path) -> None:
        self.path = folder / "readings.db"
        self._marks, self._stop = threading.Semaphore(0), threading.Event()
        self._store = SqliteReadings(self.path)
        choices = SimpleNamespace(filters=(MARKER,), hints={})
        intake = MarkedIntake(self._store, WorldClock(world), choices, lambda _what, _why: None)
        intake.marks, intake.subscribed = self._marks, threading.Event()
        address = BrokerAddress(NAME, broker.port, USER, SecretStr(PASSWORD), True, broker.ca_pem)
        connection = Connection(address, intake, client_id=f"house-{id(self)}")
        self._thread = threading.Thread(target=connection.run, args=(self._stop,), daemon=True)
        self._thread.start()
        assert intake.subscribed.wait(10)

    def caught_up(self) -> None:
        """Returns once the marker that the receiver has sent came by here too."""
        assert self._marks.acquire(timeout=10), "the collector has not kept up"

    def close(self) -> None:
        self._stop.set()
        self._thread.join(timeout=10)
        assert not self._thread.is_alive()
        self._store.close()

    def stored(self, probe: str) -> list[tuple[int, float, bool]]:
        """(number, time, is it a bound) of every temperature of the probe, in order of time."""
        readings = Readings(self.path)
        (channel,) = [c for c in readings.channels() if (c.probe, c.field) == (probe, "temperature")]
        series = readings.series(channel.id, 0, FAR_MS)
        readings.close()
        rows = zip(series.taken_ms, series.value, series.mark, strict=True)
        return [(round(value * 100), ms / 1000, bool(mark & Mark.AT_THE_LATEST)) for ms, value, mark in rows]
