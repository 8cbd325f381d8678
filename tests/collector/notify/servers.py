"""Real servers for tests of channels, on this machine: web, e-mail, and one that never says a word."""

import contextlib
import socket
import ssl
import time
from collections.abc import Iterator
from dataclasses import dataclass, field
from email import message_from_bytes
from email.message import Message as Mail
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from threading import Event, Thread
from typing import Any

from aiosmtpd.controller import Controller
from aiosmtpd.smtp import SMTP, Envelope, Session


@dataclass
class Request:
    """One request as it came."""

    method: str
    path: str
    headers: dict[str, str]
    body: bytes


@dataclass
class WebServer:
    """Answers as told: a status and headers, or never."""

    status: int = 200
    headers: dict[str, str] = field(default_factory=dict)
    requests: list[Request] = field(default_factory=list)
    hang: Event | None = None
    port: int = 0

    def answer(self, handler: BaseHTTPRequestHandler) -> None:
        body = handler.rfile.read(int(handler.headers.get("content-length") or 0))
        headers = {name.lower(): value for name, value in handler.headers.items()}
        self.requests.append(Request(handler.command, handler.path, headers, body))
        if self.hang is not None:
            self.hang.wait(60)
            return
        handler.send_response(self.status)
        for name, value in self.headers.items():
            handler.send_header(name, value)
        handler.send_header("content-length", "0")
        handler.end_headers()


@contextlib.contextmanager
def web_server(tls: tuple[Path, Path] | None = None) -> Iterator[WebServer]:
    """A web server on a free port; with certificate and key it speaks TLS."""
    own = WebServer()

    class Handler(BaseHTTPRequestHandler):
        def do_POST(self) -> None:
            own.answer(self)

        do_GET = do_POST  # noqa: N815 the library's name

        def log_message(self, *_args: Any) -> None:
            pass

    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    server.daemon_threads = True
    if tls is not None:
        context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
        context.load_cert_chain(*tls)
        server.socket = context.wrap_socket(server.socket, server_side=True)
    own.port = server.server_address[1]
    thread = Thread(target=server.serve_forever, kwargs={"poll_interval": 0.02})
    thread.start()
    try:
        yield own
    finally:
        if own.hang is not None:
            own.hang.set()
        server.shutdown()
        thread.join()
        server.server_close()


@dataclass
class MailServer:
    """Keeps e-mails, or refuses them."""

    mails: list[Mail] = field(default_factory=list)
    recipients: list[str] = field(default_factory=list)
    refuse: str = ""
    port: int = 0

    async def handle_DATA(self, _server: SMTP, _session: Session, envelope: Envelope) -> str:  # noqa: N802
        if self.refuse:
            return self.refuse
        content = envelope.content
        self.mails.append(message_from_bytes(content if isinstance(content, bytes) else str(content).encode()))
        self.recipients += envelope.rcpt_tos
        return "250 taken"


@contextlib.contextmanager
def mail_server() -> Iterator[MailServer]:
    own = MailServer()
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        own.port = probe.getsockname()[1]
    controller = Controller(own, hostname="127.0.0.1", port=own.port)
    controller.start()
    try:
        yield own
    finally:
        controller.stop()


@contextlib.contextmanager
def silent_server() -> Iterator[int]:
    """Takes connections and never says a word; gives its port."""
    with socket.socket() as listening:
        listening.bind(("127.0.0.1", 0))
        listening.listen(8)
        yield listening.getsockname()[1]


def unused_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def wait_until(ready: Any, patience_s: float = 10) -> None:
    """Wait for something that another thread brings about."""
    deadline = time.monotonic() + patience_s
    while not ready():
        assert time.monotonic() < deadline, "nothing came in time"
        time.sleep(0.01)
