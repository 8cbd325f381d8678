"""The demo's probes, live: they publish over real MQTT, and bring the past with them."""

import logging
import time
from pathlib import Path
from threading import Event

from paho.mqtt.client import Client
from paho.mqtt.enums import CallbackAPIVersion

from collector.demo.history import Diary, clear_done, pieces, write_piece
from collector.demo.publishing import ProbeMessage
from collector.demo.quillfold import QUILLFOLD
from collector.demo.scenario import World
from collector.demo.simulation import Simulation
from collector.demo.wire import payload_of, topic_of
from collector.intake.address import PROBE_USER, BrokerAddress
from collector.settings import Settings

log = logging.getLogger(__name__)

AHEAD_MS = 6 * 3_600_000  # messages are made for so long at once
FOLDER_MOST = 3  # files waiting in the import folder at most


class LiveProbes:
    """Publishes what the simulated probes measure, at its time or faster, and writes the past in between.

    Args:
        speed: 1 is life; more runs through the last `lead_d` days that much faster before going on live.
    """

    def __init__(self, settings: Settings, diary_path: Path, address: BrokerAddress, speed: float, lead_d: float) -> None:
        self._settings, self._path = settings, diary_path
        now_ms = _now_ms()
        self._diary = Diary.open(diary_path, seed=7, now_ms=now_ms)
        self._world = World(QUILLFOLD, self._diary.seed, self._diary.anchor_ms)
        self._speed = speed
        began_ms = now_ms - int(lead_d * 86_400_000) if speed > 1 else now_ms
        self._began = (began_ms, time.monotonic())
        self._client = Client(CallbackAPIVersion.VERSION2, client_id="rindwatch-demo-probes")
        password = address.password.get_secret_value() if address.password else None
        self._client.username_pw_set(PROBE_USER, password)
        self._client.connect_async(address.host, address.port, keepalive=30)

    def run(self, stop: Event) -> None:
        """Publish until told to stop."""
        self._client.loop_start()
        simulation = Simulation(self._world)
        self._diary.save(self._path)
        self._write_newest(simulation)
        older = self._pieces()
        waiting = iter(())
        while not stop.is_set():
            clear_done(self._settings.import_folder)
            message = next(waiting, None)
            if message is None:
                waiting = self._batch(simulation)
                continue
            while not stop.is_set() and self._sim_ms() < message.taken_ms:
                if not self._write_older(older):
                    stop.wait(min(1.0, (message.taken_ms - self._sim_ms()) / 1_000 / self._speed))
            self._publish(message)
        self._diary.save(self._path)
        self._client.disconnect()
        self._client.loop_stop()

    def _sim_ms(self) -> int:
        """The time that the live probes have come to: never ahead of the clock."""
        began_ms, monotonic = self._began
        return min(_now_ms(), int(began_ms + (time.monotonic() - monotonic) * 1_000 * self._speed))
