"""How long a connection may keep us waiting; the server of itself waits for ever.

It may be slow to ask, slow to send a photo, or slow to take what it asked for.
"""

import asyncio
from enum import Enum

import h11
from uvicorn.protocols.http.h11_impl import H11Protocol

HEAD_S = 20.0  # our choice: the head of a request is a few hundred bytes
BODY_S = 300.0  # our choice: the largest photo at 50 kB/s, which is a poor signal in a cellar
TAKE_S = 60.0  # our choice: between two looks at what it has taken
TAKE_BYTES = 60_000  # our choice: 1 kB/s, where a page shows up after a minute


class For(Enum):
    """What is waited for."""

    HEAD = "its head"
    BODY = "its body"
    TAKING = "that it takes our answer"


class Patient(H11Protocol):
    """The server's protocol with an end to waiting."""

    _waiting: asyncio.TimerHandle | None = None
    _waiting_for: For | None = None

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        super().connection_made(transport)
        self._mind()

    def data_received(self, data: bytes) -> None:
        super().data_received(data)
        self._mind()

    def on_response_complete(self) -> None:
        super().on_response_complete()
        self._mind()

    def pause_writing(self) -> None:
        super().pause_writing()
        self._mind()

    def resume_writing(self) -> None:
        super().resume_writing()
        self._mind()

    def timeout_keep_alive_handler(self) -> None:
        super().timeout_keep_alive_handler()
        self._mind()

    def connection_lost(self, exc: Exception | None) -> None:
        self._wait_for(None)
        super().connection_lost(exc)

    def _mind(self) -> None:
        """Count from the moment at which we began to wait; single bytes do not begin anew."""
        if self.flow.write_paused or self.transport.is_closing():
            self._wait_for(For.TAKING)
        elif self.conn.their_state is h11.IDLE:
            self._wait_for(For.HEAD)
        else:
            self._wait_for(For.BODY if self.conn.their_state is h11.SEND_BODY else None)

    def _wait_for(self, what: For | None) -> None:
        if what is self._waiting_for:
            return
        if self._waiting is not None:
            self._waiting.cancel()
        self._waiting, self._waiting_for = None, what
        if what is For.TAKING:
            self._look_again(self.transport.get_write_buffer_size())
        elif what is not None:
            self._waiting = self.loop.call_later(HEAD_S if what is For.HEAD else BODY_S, self.transport.abort)

    def _look_again(self, left: int) -> None:
        self._waiting = self.loop.call_later(TAKE_S, self._look_at_taking, left)

    def _look_at_taking(self, before: int) -> None:
        """A long answer over a poor signal goes on as long as it goes on at all."""
        left = self.transport.get_write_buffer_size()
        if before - left < TAKE_BYTES:
            self.transport.abort()
        else:
            self._look_again(left)
