"""A network between probe and broker that can be cut, and that can lose answers."""

import contextlib
import socket
import threading

CHUNK = 4096


class Proxy:
    """Passes bytes both ways.

    `is_up` off: connections are refused and the present ones break. `answers_left` counts the bytes
    from the broker that still come through; after that they vanish, and the probe waits in vain for
    what was acknowledged.
    """

    def __init__(self, to_port: int) -> None:
        self._to = ("127.0.0.1", to_port)
        self._server = socket.create_server(("127.0.0.1", 0))
        self.port = int(self._server.getsockname()[1])
        self.is_up = True
        self.answers_left: int | None = None
        self.connections = self.lost_bytes = 0
        self._open: set[socket.socket] = set()
        self._pumps: list[threading.Thread] = []
        self._lock = threading.Lock()
        threading.Thread(target=self._accept, daemon=True).start()

    def cut(self) -> None:
        """The network goes away, now."""
        self.is_up = False
        self._break_all()

    def restore(self) -> None:
        self.is_up = True

    def settle(self) -> None:
        """Waits until all that ended connections had sent has been passed on."""
        for pump in list(self._pumps):
            pump.join(timeout=5)
            assert not pump.is_alive()
        self._pumps.clear()

    def close(self) -> None:
        self._server.close()
        self._break_all()

    def _accept(self) -> None:
        with contextlib.suppress(OSError):
            while True:
                probe, _ = self._server.accept()
                if self.is_up:
                    self._join(probe, socket.create_connection(self._to))
                else:
                    probe.close()

    def _join(self, probe: socket.socket, broker: socket.socket) -> None:
        self.connections += 1
        with self._lock:
            self._open |= {probe, broker}
        up = threading.Thread(target=self._pump, args=(probe, broker, False), daemon=True)
        down = threading.Thread(target=self._pump, args=(broker, probe, True), daemon=True)
        self._pumps += [up, down]
        up.start()
        down.start()

    def _pump(self, source: socket.socket, target: socket.socket, from_broker: bool) -> None:
        """Passes bytes on until either end closes."""
        with contextlib.suppress(OSError):
            while data := source.recv(CHUNK):
                passed = self._answers_through(data) if from_broker else data
                if passed:
                    target.sendall(passed)
        self._close(source, target)

    def _answers_through(self, data: bytes) -> bytes:
        with self._lock:
            if self.answers_left is None:
                return data
            passed = data[: self.answers_left]
            self.answers_left -= len(passed)
            self.lost_bytes += len(data) - len(passed)
            return passed

    def _close(self, *ends: socket.socket) -> None:
        with self._lock:
            self._open -= set(ends)
        for end in ends:
            with contextlib.suppress(OSError):
                end.shutdown(socket.SHUT_RDWR)
            end.close()

    def _break_all(self) -> None:
        with self._lock:
            ends = list(self._open)
        self._close(*ends)
