"""How long a connection may keep us waiting, and how many one address may hold: one neighbour cannot take all places.

The server waits for ever for a request that never ends, and counts each waiting connection among those it can hold.
"""

import asyncio
from typing import Any

import h11
from uvicorn.protocols.http.h11_impl import H11Protocol

HEAD_S = 20.0  # our choice: the head of a request is a few hundred bytes
BODY_S = 300.0  # our choice: the largest photo at 50 kB/s, which is a poor signal in a cellar
OF_ONE_ADDRESS = 40  # our choice: a household's phones open six each; a proxy of one's own is excepted


class Patient(H11Protocol):
    """The server's protocol with an end to waiting."""

    _waiting: asyncio.TimerHandle | None = None
    _waiting_for: Any = None

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        super().connection_made(transport)
        if self._is_one_too_many():
            transport.abort()
            return
        self._mind()

    def data_received(self, data: bytes) -> None:
        super().data_received(data)
        self._mind()

    def on_response_complete(self) -> None:
        super().on_response_complete()
        self._mind()

    def connection_lost(self, exc: Exception | None) -> None:
        self._stop_waiting()
        super().connection_lost(exc)

    def _is_one_too_many(self) -> bool:
        if self.client is None or self.client[0] == self.config.forwarded_allow_ips:
            return False
        # The one that comes now is among them.
        theirs = [one for one in self.connections if isinstance(one, Patient) and one.client]
        theirs = [one for one in theirs if one.client and one.client[0] == self.client[0]]
        return len(theirs) > OF_ONE_ADDRESS

    def _mind(self) -> None:
        """Count from the moment at which we began to wait for a head or a body; single bytes do not begin anew."""
        state = self.conn.their_state
        now_for = state if state in (h11.IDLE, h11.SEND_BODY) and not self.transport.is_closing() else None
        if now_for is self._waiting_for:
            return
        self._stop_waiting()
        self._waiting_for = now_for
        if now_for is not None:
            self._waiting = self.loop.call_later(HEAD_S if now_for is h11.IDLE else BODY_S, self.transport.abort)

    def _stop_waiting(self) -> None:
        if self._waiting is not None:
            self._waiting.cancel()
            self._waiting = None
        self._waiting_for = None
