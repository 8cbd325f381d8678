"""The demo's probes, live: they publish over real MQTT, and bring their past with them."""

import logging
import threading
import time
from collections.abc import Iterator
from pathlib import Path
from threading import Event

from paho.mqtt.client import Client
from paho.mqtt.enums import CallbackAPIVersion

from collector.demo.diary import DAY_MS, DIARY, SEED, Diary
from collector.demo.history import History
from collector.demo.publishing import ProbeMessage
from collector.demo.quillfold import QUILLFOLD
from collector.demo.scenario import World
from collector.demo.simulation import Simulation
from collector.demo.wire import payload_of, topic_of
from collector.intake.address import PROBE_USER, BrokerAddress
from collector.settings import Settings

log = logging.getLogger(__name__)

AHEAD_MS = 6 * 3_600_000  # messages are made for so long at once
SAVE_EVERY = 200  # messages


class LiveProbes:
    """Publishes what the simulated probes measure, when they measure it.

    Args:
        speed: 1 is life; more runs through the last `lead_d` days so much faster before going on live.
    """

    def __init__(self, settings: Settings, address: BrokerAddress, speed: float = 1, lead_d: float = 2) -> None:
        self._settings, self._address, self._speed = settings, address, speed
        self._diary_path: Path = settings.data / DIARY
        now_ms = _now_ms()
        self._diary = Diary.open(self._diary_path, SEED, now_ms)
        self._world = World(QUILLFOLD, self._diary.seed, self._diary.anchor_ms)
        self._began_ms = now_ms - int(lead_d * DAY_MS) if speed > 1 else now_ms
        self._began = time.monotonic()

    def run(self, stop: Event) -> None:
        """Publish until told to stop; the past is written beside it."""
        self._diary.save(self._diary_path)
        past = History(
            Simulation(self._world), self._settings.import_folder, self._diary, self._diary_path, self._began_ms
        )
        writer = threading.Thread(target=past.write, args=(stop,), name="history")
        writer.start()
        client = self._connect()
        for number, message in enumerate(self._due(stop)):
            client.publish(topic_of(message), payload_of(message), qos=1)
            self._diary.live_to_ms = message.taken_ms
            if number % SAVE_EVERY == 0:
                self._diary.save(self._diary_path)
        writer.join()
        self._diary.save(self._diary_path)
        client.disconnect()
        client.loop_stop()

    def _connect(self) -> Client:
        client = Client(CallbackAPIVersion.VERSION2, client_id="rindwatch-demo-probes")
        password = self._settings.secret("probe-password").get_secret_value()
        client.username_pw_set(PROBE_USER, password)
        client.connect_async(self._address.host, self._address.port, keepalive=30)
        client.loop_start()
        return client

    def _due(self, stop: Event) -> Iterator[ProbeMessage]:
        """Each message when its time has come."""
        simulation, start = Simulation(self._world), self._began_ms
        while not stop.is_set():
            for message in simulation.messages(start, start + AHEAD_MS):
                while (early_ms := message.taken_ms - self._reached_ms()) > 0 and not stop.is_set():
                    stop.wait(min(1.0, early_ms / 1_000 / self._speed))
                if stop.is_set():
                    return
                yield message
            start += AHEAD_MS

    def _reached_ms(self) -> int:
        """The time that the probes have come to: never ahead of the clock."""
        return min(_now_ms(), self._began_ms + int((time.monotonic() - self._began) * 1_000 * self._speed))


def _now_ms() -> int:
    return time.time_ns() // 1_000_000
