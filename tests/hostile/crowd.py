"""A neighbour who holds hundreds of connections open at a port, and opens each anew as soon as it is ended."""

import selectors
import socket
import threading
import time
from contextlib import suppress
from itertools import cycle
from types import TracebackType
from typing import Self

NEIGHBOUR = "127.0.0.77"  # an address of its own on loopback, so that it is no program of the house
DRIP_S = 0.5  # how often a slow one sends its next byte
AT_ONCE = 50  # of those that were ended, opened anew in one turn
SAYS_NOTHING = b""
CONNECT = b"\x10\x80\x02\x00\x04MQTT\x04\x02\x00\x00\x00\xf2" + b"x" * 242  # MQTT 3.1.1, 3.1: 256 bytes follow
HALF_A_CONNECT = CONNECT[:9]
HEAD = b"GET /sign-in HTTP/1.1\r\nHost: 127.0.0.1\r\n"


class Crowd:
    """Connections to one port: those that say nothing, those that say half and wait, and those that go on byte by byte.

    Args:
        port: on this machine. many: connections to hold. half: what is said at once by the second kind.
        slow: what the third kind says, a byte at a time, again and again.
    """

    def __init__(self, port: int, many: int, half: bytes, slow: bytes) -> None:
        self._port, self._many, self._slow = port, many, slow
        self._kinds = cycle([(SAYS_NOTHING, False), (half, False), (SAYS_NOTHING, True)])
        self._open = dict[socket.socket, tuple[bool, int]]()
        self._eyes, self._over = selectors.DefaultSelector(), threading.Event()
        self._thread = threading.Thread(target=self._stand)
        self.opened, self.ended = 0, 0

    @property
    def standing(self) -> int:
        """How many are open at this moment, as far as we were told."""
        return len(self._open)

    def __enter__(self) -> Self:
        self._thread.start()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._over.set()
        self._thread.join()
        for one in list(self._open):
            one.close()
        self._eyes.close()

    def _stand(self) -> None:
        drip_at = time.monotonic()
        while not self._over.is_set():
            for _ in range(min(AT_ONCE, self._many - len(self._open))):
                self._come()
            for key, _ in self._eyes.select(0.02):
                self._listen(key.fileobj)  # type: ignore[arg-type]  # sockets are all we registered
            if time.monotonic() >= drip_at:
                drip_at += DRIP_S
                self._drip()

    def _come(self) -> None:
        said, goes_on = next(self._kinds)
        one = socket.socket()
        try:
            one.bind((NEIGHBOUR, 0))
            one.settimeout(1)
            one.connect(("127.0.0.1", self._port))
            one.setblocking(False)
            one.send(said)
        except OSError:
            one.close()
            return
        self.opened += 1
        self._open[one] = (goes_on, 0)
        self._eyes.register(one, selectors.EVENT_READ)

    def _listen(self, one: socket.socket) -> None:
        with suppress(BlockingIOError):
            try:
                if one.recv(65_536):
                    return
            except ConnectionError:
                pass
            self._leave(one)

    def _drip(self) -> None:
        for one, (goes_on, at) in list(self._open.items()):
            if not goes_on:
                continue
            self._open[one] = (True, at + 1)
            try:
                one.send(self._slow[at % len(self._slow)].to_bytes())
            except BlockingIOError:
                continue
            except OSError:
                self._leave(one)

    def _leave(self, one: socket.socket) -> None:
        self._eyes.unregister(one)
        del self._open[one]
        one.close()
        self.ended += 1


def at_broker(port: int, many: int) -> Crowd:
    """A crowd that never gets through its first packet at a broker."""
    return Crowd(port, many, HALF_A_CONNECT, CONNECT)


def at_pages(port: int, many: int) -> Crowd:
    """A crowd that never gets through its first request."""
    return Crowd(port, many, HEAD, HEAD + b"X-A: b\r\n" * 40)
