"""The public port of the embedded broker: lets callers in once it is fit to be spoken to, and hands bytes on.

The broker's library opens its port before anything can be subscribed, and one neighbour could take every connection
that it has. So it listens on this machine alone, and what comes from the house comes through here: once a caller has
said who it is, in one whole CONNECT packet and in time. Beyond that nothing is read of what passes. What waits to be
sent is bounded by pausing who sends it.
"""

import asyncio
import logging
import os
import socket
from typing import cast

from collector.intake.places import Places, Waiting, plain

log = logging.getLogger(__name__)

LOOPBACK = "127.0.0.1"
EVERYWHERE_6 = "::"
BACKLOG = 512  # of callers whom we have not looked at yet
CONNECT_WITHIN_S = 10.0  # as the broker itself has it, connection_timeout_ms
LEAVE_WITHIN_S = 5.0  # our choice: for the last bytes to somebody who may be out of reach
LONGEST_CONNECT = 16_384  # bytes, our choice: names, a password and a last word take some hundred
CONNECT = 0x10  # MQTT 3.1.1, 2.2.1 and 3.1.1: the first byte of the only packet that may come first


def bound(listen: str, port: int) -> socket.socket:
    """A socket that holds the port and does not answer yet: who knocks is refused, and keeps what it has to say.

    Raises:
        OSError: the port is taken, or the address is none of this machine.
    """
    host = listen.strip("[]")
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    held = socket.socket(family, socket.SOCK_STREAM)
    try:
        if os.name == "posix":  # on Windows this option would let two programs have one port
            held.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        if host == EVERYWHERE_6:  # IPv4 comes in there too
            held.setsockopt(socket.IPPROTO_IPV6, socket.IPV6_V6ONLY, 0)
        held.bind((host, port))
    except OSError:
        held.close()
        raise
    held.setblocking(False)
    return held


def first_packet_bytes(begun: bytes | bytearray) -> int | None:
    """How long the first packet is, header and all; None while that is not known yet.

    Raises:
        ValueError: it is no CONNECT packet, or one longer than anybody needs.
    Source: MQTT 3.1.1, 2.2.3 (remaining length: seven bits a byte, at most four bytes).
    """
    if begun and begun[0] != CONNECT:
        raise ValueError("the first packet must be CONNECT")
    length = 0
    for number, byte in enumerate(begun[1:5]):
        length |= (byte & 0x7F) << (7 * number)
        if byte < 0x80:
            if length > LONGEST_CONNECT:
                raise ValueError(f"CONNECT must have at most {LONGEST_CONNECT} bytes, got {length}")
            return 2 + number + length
    if len(begun) >= 5:
        raise ValueError("the length of the first packet must have at most four bytes")
    return None


class End(asyncio.Protocol):
    """One end of a conversation: hands on what it hears to the other."""

    def __init__(self) -> None:
        self.other: End | None = None
        self.transport: asyncio.Transport | None = None

    def connection_made(self, transport: asyncio.BaseTransport) -> None:
        self.transport = cast(asyncio.Transport, transport)

    def data_received(self, data: bytes) -> None:
        if self.other is not None:
            self.other.send(data)

    def send(self, data: bytes) -> None:
        if self.transport is not None:
            self.transport.write(data)

    def pause_writing(self) -> None:
        if self.other is not None:
            self.other.read_on(False)

    def resume_writing(self) -> None:
        if self.other is not None:
            self.other.read_on(True)

    def read_on(self, goes_on: bool) -> None:
        if self.transport is not None:
            (self.transport.resume_reading if goes_on else self.transport.pause_reading)()

    def hang_up(self) -> None:
        """Send what is left, but wait for nobody who takes none of it."""
        if self.transport is not None:
            self.transport.close()
            asyncio.get_running_loop().call_later(LEAVE_WITHIN_S, self.transport.abort)

    def connection_lost(self, exc: Exception | None) -> None:  # noqa: ARG002 (asyncio's signature)
        self.transport = None
        if self.other is not None:
            self.other.hang_up()


class Caller(End):
    """The end towards the house.

    Args:
        hall: what all callers share.
    """

    def __init__(self, hall: "Hall") -> None:
        super().__init__()
        self._hall, self._host, self._begun = hall, "", bytearray()
        self._has_place = False
        self._patience: asyncio.TimerHandle | None = None
        self._leading: asyncio.Task[None] | None = None

    def connection_made(self, transport: asyncio.BaseTransport) -> None:
        super().connection_made(transport)
        peer = transport.get_extra_info("peername")
        if not peer:  # it has gone already
            self.turn_away()
            return
        self._host = plain(str(peer[0]))
        transport.get_extra_info("socket").setsockopt(socket.SOL_SOCKET, socket.SO_KEEPALIVE, 1)
        self._patience = asyncio.get_running_loop().call_later(CONNECT_WITHIN_S, self.turn_away)
        longest = self._hall.waiting.join(self)
        if longest is not None:
            longest.turn_away()

    def turn_away(self) -> None:
        if self.transport is not None:
            self.transport.abort()

    def data_received(self, data: bytes) -> None:
        if self.other is not None:
            super().data_received(data)
            return
        self._begun += data
        try:
            whole = first_packet_bytes(self._begun)
        except ValueError:
            self.turn_away()
            return
        if whole is not None and len(self._begun) >= whole and self._leading is None:
            self._come_in()

    def _come_in(self) -> None:
        """It has said who it is: the broker judges that."""
        self._wait_no_more()
        self._has_place = self._hall.places.take(self._host)
        if not self._has_place:
            self._hall.tell_full(self._host)
            self.turn_away()
            return
        self.read_on(False)
        self._leading = asyncio.get_running_loop().create_task(self._lead_in())

    async def _lead_in(self) -> None:
        loop, end = asyncio.get_running_loop(), End()
        end.other = self
        try:
            await loop.create_connection(lambda: end, LOOPBACK, self._hall.inner)
        except OSError as error:
            log.warning("broker_does_not_answer reason=%s", error)
            self.turn_away()
            return
        if self.transport is None:  # the caller has gone meanwhile
            end.hang_up()
            return
        self.other = end
        self.read_on(True)  # before we write: a broker that is slow to take it stops us from reading
        end.send(bytes(self._begun))
        self._begun.clear()

    def _wait_no_more(self) -> None:
        self._hall.waiting.leave(self)
        if self._patience is not None:
            self._patience.cancel()

    def connection_lost(self, exc: Exception | None) -> None:
        super().connection_lost(exc)
        self._wait_no_more()
        if self._has_place:
            self._has_place = False
            self._hall.places.give_back(self._host)


class Hall:
    """What all callers share.

    Args:
        inner: the broker's own port on loopback. places, waiting: who may come in, and who has not said who it is.
    """

    def __init__(self, inner: int, places: Places | None = None, waiting: Waiting[Caller] | None = None) -> None:
        self.inner, self.places = inner, places or Places()
        self.waiting = waiting or Waiting[Caller]()
        self._told = set[str]()

    def tell_full(self, host: str) -> None:
        """Log it once an address; a neighbour shall not fill the log either."""
        if host not in self._told and len(self._told) < 100:
            self._told.add(host)
            log.warning("door_full host=%s", host)


async def keep_open(held: socket.socket, hall: Hall, over: asyncio.Event) -> None:
    """Let callers in to the broker that listens on this machine, until it is over.

    Args:
        held: of `bound`.

    Raises:
        OSError: another program answers at the port since.
    """
    server = await asyncio.get_running_loop().create_server(lambda: Caller(hall), sock=held, backlog=BACKLOG)
    try:
        await over.wait()
    finally:
        server.close()
