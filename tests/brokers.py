"""Real MQTT brokers for tests: the embedded one, and Mosquitto where the machine has it."""

import os
import shutil
import socket
import subprocess
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

import pytest
from paho.mqtt.client import Client
from paho.mqtt.enums import CallbackAPIVersion

from collector.intake.address import PROBE_USER
from collector.settings import Settings

MOSQUITTO = shutil.which("mosquitto") or "/usr/sbin/mosquitto"
PATIENCE_S = 20.0


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def wait_for(met: Callable[[], object], patience_s: float = PATIENCE_S, what: str = "") -> None:
    """Wait until something holds, with a deadline."""
    deadline = time.monotonic() + patience_s
    while not met():
        assert time.monotonic() < deadline, f"did not come within {patience_s:g} s: {what}"
        time.sleep(0.02)


def answers(port: int) -> bool:
    try:
        with socket.create_connection(("127.0.0.1", port), timeout=0.5):
            return True
    except OSError:
        return False


@dataclass
class Broker:
    """A broker process on a free port, with what the collector needs to reach it."""

    kind: str
    folder: Path
    port: int = field(default_factory=free_port)
    process: subprocess.Popen[bytes] | None = None
    saves_each_change: bool = True
    persists: bool = True

    @property
    def environment(self) -> dict[str, str]:
        """Settings for a collector that uses this broker."""
        own = {"RINDWATCH_DATA": str(self.folder), "RINDWATCH_LISTEN": "127.0.0.1", "RINDWATCH_LOG_LEVEL": "info"}
        if self.kind == "embedded":
            return os.environ | own | {"RINDWATCH_MQTT_PORT": str(self.port)}
        return os.environ | own | {"RINDWATCH_BROKER": f"127.0.0.1:{self.port}"}

    def start(self) -> None:
        command = [sys.executable, "-m", "collector.cli", "broker"] if self.kind == "embedded" else self._mosquitto()
        with (self.folder / "broker.log").open("ab") as log:
            self.process = subprocess.Popen(command, env=self.environment, stdout=log, stderr=log)
        wait_for(lambda: answers(self.port), what=f"{self.kind} broker")

    def _mosquitto(self) -> list[str]:
        """Mosquitto as the compose file has it: every change saved, a queue that is never cut."""
        (self.folder / "mosquitto").mkdir(exist_ok=True)
        config = self.folder / "mosquitto.conf"
        config.write_text(
            f"listener {self.port} 127.0.0.1\nallow_anonymous true\npersistence {str(self.persists).lower()}\n"
            f"persistence_location {self.folder}/mosquitto/\nautosave_interval 1\n"
            f"autosave_on_changes {str(self.saves_each_change).lower()}\n"
            "max_queued_messages 0\nmax_inflight_messages 1000\nuser root\n"
        )
        return [MOSQUITTO, "-c", str(config)]

    def kill(self) -> None:
        assert self.process is not None
        self.process.kill()
        self.process.wait()

    def stop(self) -> None:
        if self.process is not None and self.process.poll() is None:
            self.process.terminate()
            self.process.wait(10)

    def a_client(self, client_id: str = "") -> Client:
        """A connected client, as a probe would be."""
        client = Client(CallbackAPIVersion.VERSION2, client_id=client_id)
        if self.kind == "embedded":
            secret = Settings(data=self.folder).secret("probe-password").get_secret_value()
            client.username_pw_set(PROBE_USER, secret)
        client.connect("127.0.0.1", self.port)
        client.loop_start()
        wait_for(client.is_connected, what="client connected")
        return client


def need_mosquitto() -> None:
    """A newcomer's machine may lack Mosquitto; the continuous build must have it."""
    if not Path(MOSQUITTO).exists():
        assert os.environ.get("CI") != "true", "mosquitto is missing: apt-get install mosquitto"
        pytest.skip("mosquitto is not installed here")
