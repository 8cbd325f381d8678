"""How many connections stand at the doors, counted where they come in, before anything was sent or encrypted.

A connection that never finishes its TLS handshake never reaches the server's own count, but it holds one of the files
that this process may have open (1,024 by custom), and without those no database opens.
"""

import socket
from collections import Counter
from contextlib import suppress
from typing import Any, Self

MOST = 200  # our choice, both doors together: a household's phones and browsers open some dozens
OF_ONE_ADDRESS = 40  # our choice: a browser opens six each; a proxy of one's own is excepted
CROWDING = 8  # our choice: more than a browser opens


class Visitors:
    """The connections that are open, oldest first.

    Args:
        excepted: address of a proxy, which stands for many people.
    """

    def __init__(self, excepted: str = "") -> None:
        self._excepted = excepted
        self._came: dict[socket.socket, str] = {}

    def admits(self, address: str) -> bool:
        """Whether one more of an address may come in; where all places are taken, an old one is shown out for it."""
        self._forget_those_who_left()
        if address == self._excepted:
            return True
        if list(self._came.values()).count(address) >= OF_ONE_ADDRESS:
            return False
        if len(self._came) >= MOST:
            self._show_one_out()
        return True

    def note(self, came: socket.socket, address: str) -> None:
        if address != self._excepted:
            self._came[came] = address

    def _forget_those_who_left(self) -> None:
        # The event loop closes what ended; a closed socket has no number any more.
        self._came = {one: address for one, address in self._came.items() if one.fileno() != -1}

    def _show_one_out(self) -> None:
        """The oldest of those whose address crowds, else the oldest: a person's own is new, for she just asked."""
        of_each = Counter(self._came.values())
        crowding = (one for one, address in self._came.items() if of_each[address] > CROWDING)
        leaving = next(crowding, None) or next(iter(self._came))
        del self._came[leaving]
        with suppress(OSError):  # it left at this moment
            leaving.shutdown(socket.SHUT_RDWR)  # the event loop reads its end, and closes it


class Door(socket.socket):
    """A listening socket that lets in whom its visitors' count admits."""

    visitors: Visitors

    @classmethod
    def around(cls, listening: socket.socket, visitors: Visitors) -> Self:
        """Take over a listening socket."""
        door = cls(listening.family, listening.type, listening.proto, fileno=listening.detach())
        door.setblocking(False)
        door.visitors = visitors
        return door

    def accept(self) -> tuple[socket.socket, Any]:
        """As of any socket; one that is not admitted is as one that gave up while it waited.

        Raises:
            ConnectionAbortedError: not admitted; the event loop then asks again at its next turn.
        """
        came, address = super().accept()
        if not self.visitors.admits(address[0]):
            came.close()
            raise ConnectionAbortedError(f"{address[0]} has {OF_ONE_ADDRESS} connections open")
        self.visitors.note(came, address[0])
        return came, address
