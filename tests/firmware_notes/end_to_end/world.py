"""A probe in a simulated world: true time, a clock that strays, power cuts at any moment.

The node program is the real one; only the pins, the radio and the clock are stood in for.
"""

import contextlib
import random
from collections.abc import Iterator
from pathlib import Path
from types import SimpleNamespace
from typing import Any
from unittest import mock

from firmware_notes.node import keep, link, settings
from firmware_notes.node.faults import LinkDown
from firmware_notes.node.sensors import Sensors
from tests.firmware_notes.end_to_end.broker import NAME, PASSWORD, USER, Broker
from tests.firmware_notes.end_to_end.proxy import Proxy

START = 1_790_000_000  # an invented moment
TIMEOUT_S = 0.3  # of real time: how long the probe waits for an answer in this test


RESTART_S = 3  # of simulated time, until the program runs again


class PowerCut(BaseException):
    """Nothing in the node program may catch this."""


class Asleep(BaseException):
    """Deep sleep: the program ends here and starts anew on waking."""


class CountingAir:
    """Each reading is another number, so that its true time can be looked up."""

    def __init__(self, world: "World") -> None:
        self.world = world

    def read(self) -> tuple[float, float]:
        self.world.burn()
        self.world.count += 1
        self.world.taken_at[self.world.count] = self.world.true
        return self.world.count / 100, 85.0

    def heat(self, pulses: int) -> None:
        self.world.wait_ms(pulses * 11_000)


class World:
    """The board, and what only the test knows: the true time of every reading."""

    def __init__(self, proxy: Proxy, broker: Broker, folder: Path, chance: random.Random, **changed: Any) -> None:
        self.proxy, self.broker, self.chance = proxy, broker, chance
        names = {name: getattr(settings, name) for name in dir(settings) if name[0].isupper()}
        names |= {"KEEP_FOLDER": str(folder / "kept"), "BROKER_USER": USER, "BROKER_PASSWORD": PASSWORD}
        self.settings = SimpleNamespace(**(names | changed))
        self.true, self.clock, self.drift = float(START), 0.0, 0.0
        self.saved, self.count = b"", 0
        self.taken_at: dict[int, float] = {}
        self.kept: set[int] = set()
        self.fuse: int | None = None
        self.time_answers = 0.9
        self._sockets: list[Any] = []

    def burn(self) -> None:
        """One more thing done; when the fuse is out the power goes."""
        if self.fuse is not None:
            self.fuse -= 1
            if self.fuse < 0:
                raise PowerCut

    def passes(self, seconds: float) -> None:
        self.true += seconds
        self.clock += seconds * (1 + self.drift)

    def goes_dark(self, off_s: float) -> None:
        """Power is away: clock and memory are lost, connections hang in the air."""
        self.fuse = None
        self.true += off_s + RESTART_S
        self.clock, self.saved = 0.0, b""
        self.hang_up()

    def restarts(self) -> None:
        """The watchdog bites: clock and memory go on."""
        self.fuse = None
        self.passes(RESTART_S)
        self.hang_up()

    def hang_up(self) -> None:
        """All connections end without a word."""
        for sock in self._sockets:
            with contextlib.suppress(OSError):
                sock.close()
        self._sockets.clear()

    def sensors(self) -> Sensors:
        return Sensors(self, self.settings, CountingAir(self))

    def now(self) -> int:
        return round(self.clock)

    def set_clock(self, seconds: int) -> None:
        self.burn()
        self.clock = float(seconds)

    def memory(self) -> bytes:
        return self.saved

    def remember(self, data: bytes) -> None:
        self.burn()
        self.saved = data

    def random(self) -> int:
        return self.chance.getrandbits(32) or 1

    def ask_time(self) -> int:
        self.burn()
        if not self.proxy.is_up or self.chance.random() > self.time_answers:
            raise OSError("no answer")
        return round(self.true)

    def network_up(self) -> None:
        self.burn()
        if not self.proxy.is_up:
            self.passes(20)
            raise LinkDown("no Wi-Fi")

    def network_down(self) -> None:
        """The radio is off."""

    def signal_dbm(self) -> int | None:
        return -61 if self.proxy.is_up else None

    def open_link(self) -> link.Link:
        self.burn()
        try:
            sock = link.open_socket("127.0.0.1", self.proxy.port, TIMEOUT_S, self.broker.ca_der.read_bytes(), NAME)
        except (OSError, ValueError) as error:
            raise LinkDown(str(error)) from error
        self._sockets.append(sock)
        return link.Link(BurningStream(self, sock))

    def door_is_open(self) -> None:
        return None

    def battery_mv(self) -> None:
        return None

    def wait_ms(self, duration_ms: int) -> None:
        self.burn()
        self.passes(duration_ms / 1000)

    def deep_sleep(self, seconds: int) -> None:
        self.passes(seconds)
        raise Asleep

    def restart(self) -> None:
        raise AssertionError("the program gave up")

    @contextlib.contextmanager
    def flash(self) -> Iterator[None]:
        """Every write to flash may be the one that the power cut tears."""
        with mock.patch.object(keep, "append", self._append), mock.patch.object(keep, "overwrite", self._overwrite):
            yield

    def _append(self, path: str, data: bytes) -> None:
        self._write(path, data, "ab")

    def _overwrite(self, path: str, data: bytes) -> None:
        self._write(path, data, "wb")

    def _write(self, path: str, data: bytes, mode: str) -> None:
        torn = self.fuse == 0
        with Path(path).open(mode) as file:
            file.write(data[: self.chance.randrange(len(data))] if torn else data)
        self.burn()


class BurningStream(link.Stream):
    """A stream on which the power may go between any two reads and writes."""

    def __init__(self, world: World, sock: Any) -> None:
        super().__init__(sock)
        self.world = world

    def write(self, data: bytes) -> None:
        self.world.burn()
        super().write(data)

    def read(self, size: int) -> bytes:
        self.world.burn()
        return bytes(super().read(size))
