"""The question to a time server over real UDP; what an answer must look like stands in node/test_clock.py."""

import socket
import struct
import threading
from collections.abc import Callable

import pytest

from firmware_notes.node import clock

NONCE = b"\x11\x22\x33\x44\x55\x66\x77\x88"
NOON = 1_790_000_000  # an invented moment
NTP_1970 = 2_208_988_800  # RFC 5905, figure 4


def served(answer: Callable[[bytes], bytes | None]) -> int:
    """The port of a time server that answers once."""
    server = socket.socket(socket.AF_INET, socket.SOCK_DGRAM)
    server.bind(("127.0.0.1", 0))

    def serve() -> None:
        question, address = server.recvfrom(100)
        said = answer(question)
        if said is not None:
            server.sendto(said, address)
        server.close()

    threading.Thread(target=serve, daemon=True).start()
    return int(server.getsockname()[1])


def honest(question: bytes) -> bytes:
    """As RFC 5905 section 7.3 lays it out: the question's transmit time comes back as the origin time."""
    assert len(question) == 48
    assert question[0] == 0x23  # version 4, client
    return bytes((0x24, 2)) + bytes(22) + question[40:48] + bytes(8) + struct.pack(">II", NOON + NTP_1970, 0)


def test_an_honest_server_tells_the_time() -> None:
    assert clock.ask("127.0.0.1", NONCE, port=served(honest)) == NOON


def test_an_answer_to_somebody_elses_question_is_not_believed() -> None:
    port = served(lambda question: honest(question[:40] + bytes(8)))
    with pytest.raises(OSError, match="not an answer to this question"):
        clock.ask("127.0.0.1", NONCE, port=port)


def test_silence_ends_after_the_timeout() -> None:
    with pytest.raises(OSError, match="timed out"):
        clock.ask("127.0.0.1", NONCE, timeout_s=0.05, port=served(lambda _question: None))
