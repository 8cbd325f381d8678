"""Debian's Mosquitto on a free port, and a subscriber to it."""

import contextlib
import shutil
import socket
import subprocess
import time
from collections.abc import Iterator
from pathlib import Path
from threading import Event

from paho.mqtt.client import Client
from paho.mqtt.enums import CallbackAPIVersion

from tests.collector.notify.servers import unused_port

PROGRAM = shutil.which("mosquitto") or shutil.which("mosquitto", path="/usr/sbin")


@contextlib.contextmanager
def mosquitto(folder: Path, *, anonymous: bool = True) -> Iterator[int]:
    """Debian's broker on a free port; gives the port."""
    port = unused_port()
    config = folder / "mosquitto.conf"
    config.write_text(f"listener {port} 127.0.0.1\nallow_anonymous {str(anonymous).lower()}\n")
    process = subprocess.Popen([str(PROGRAM), "-c", str(config)], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    try:
        _wait_for(port)
        yield port
    finally:
        process.terminate()
        process.wait(10)


def _wait_for(port: int) -> None:
    deadline = time.monotonic() + 10
    while True:
        try:
            socket.create_connection(("127.0.0.1", port), 1).close()
            return
        except OSError:
            if time.monotonic() > deadline:
                raise
            time.sleep(0.02)


@contextlib.contextmanager
def listener(port: int, topic: str) -> Iterator[list[tuple[str, bytes, bool]]]:
    """A subscriber; gives the list that fills with topic, payload and whether it was retained."""
    heard: list[tuple[str, bytes, bool]] = []
    ready = Event()
    client = Client(CallbackAPIVersion.VERSION2)

    def subscribe(*_: object) -> None:
        client.subscribe(topic, qos=1)

    client.on_connect = subscribe
    client.on_subscribe = lambda *_: ready.set()
    client.on_message = lambda _c, _d, m: heard.append((m.topic, bytes(m.payload), bool(m.retain)))
    client.connect("127.0.0.1", port)
    client.loop_start()
    assert ready.wait(10)
    try:
        yield heard
    finally:
        client.disconnect()
        client.loop_stop()
