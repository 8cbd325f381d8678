"""A probe that keeps each reading until the broker has acknowledged it, and sends again after a lost connection."""

import threading
import time
from collections.abc import Callable

from paho.mqtt.client import Client
from paho.mqtt.enums import CallbackAPIVersion

from collector.intake.address import PROBE_USER
from collector.intake.payloads import PackRecord, encode_senml


class SteadyProbe:
    """Sends a numbered reading with a time of its own again and again.

    Args:
        port: the broker's. password: of the embedded broker, None where none is asked for.
    """

    def __init__(self, port: int, password: str | None, name: str = "steady", every_s: float = 0.02) -> None:
        self.name, self._every_s = name, every_s
        self._start_s = int(time.time()) - 80_000
        self.sent = 0
        self._numbers: dict[int, int] = {}
        self._acknowledged = set[int]()
        self._lock, self._stop = threading.Lock(), threading.Event()
        self._client = Client(CallbackAPIVersion.VERSION2, client_id=f"probe-{name}", clean_session=False)
        self._client.reconnect_delay_set(1, 1)
        if password is not None:
            self._client.username_pw_set(PROBE_USER, password)
        self._client.on_publish = self._on_publish
        self._client.connect_async("127.0.0.1", port, keepalive=10)
        self._client.loop_start()
        self._thread = threading.Thread(target=self._run)

    def start(self) -> None:
        self._thread.start()

    def one(self) -> int:
        """Send the next reading; its number."""
        number = self.sent
        self.sent += 1
        record = PackRecord("temperature", float(number), "Cel")
        payload = encode_senml([record], base_time_s=self._start_s + number)
        # No lock of ours is held here: the library calls us back under one of its own.
        info = self._client.publish(f"rindwatch/{self.name}/readings", payload, qos=1)
        with self._lock:
            self._numbers[info.mid] = number
        return number

    @property
    def acknowledged(self) -> set[int]:
        """The numbers of what the broker has acknowledged."""
        with self._lock:
            return {self._numbers[mid] for mid in self._acknowledged if mid in self._numbers}

    def _run(self) -> None:
        while not self._stop.wait(self._every_s):
            self.one()

    def _on_publish(self, _client: object, _data: object, mid: int, *_: object) -> None:
        with self._lock:
            self._acknowledged.add(mid)

    def rest(self) -> None:
        """Send no more; what is not acknowledged goes on being sent."""
        self._stop.set()
        if self._thread.ident is not None:
            self._thread.join()

    def close(self) -> None:
        self.rest()
        self._client.disconnect()
        self._client.loop_stop()


def until(met: Callable[[], bool], patience_s: float = 180) -> float:
    """Seconds until something holds.

    Raises:
        AssertionError: it did not come.
    """
    began = time.monotonic()
    while not met():
        assert time.monotonic() - began < patience_s, f"did not come within {patience_s:g} s"
        time.sleep(0.02)
    return time.monotonic() - began
