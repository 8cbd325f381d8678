"""The serving process: both doors, a clean end, and what stops its start."""

import http.client
import os
import re
import signal
import socket
import ssl
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from collector.clock import SystemClock
from collector.settings import Settings
from dashboard.https import kept
from dashboard.https.making import make

WAIT_S = 30


@pytest.fixture
def start(settings: Settings) -> Iterator[Callable[..., subprocess.Popen[str]]]:
    """Starts the process over prepared records; ends it when the test did not."""
    started: list[subprocess.Popen[str]] = []

    def begin(**more: str) -> subprocess.Popen[str]:
        environment = os.environ | {
            "RINDWATCH_DATA": str(settings.data), "RINDWATCH_LISTEN": "127.0.0.1", "RINDWATCH_HTTP_PORT": "0",
            "RINDWATCH_HTTPS_PORT": "0", **more,
        }  # fmt: skip
        process = subprocess.Popen(
            [sys.executable, "-m", "dashboard"], env=environment, text=True, stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
        )  # fmt: skip
        started.append(process)
        return process

    yield begin
    for process in started:
        process.kill()
        process.communicate()


def _said(process: subprocess.Popen[str], pattern: str) -> str:
    assert process.stdout is not None
    for line in process.stdout:
        if found := re.search(pattern, line):
            return found[1]
    raise AssertionError(f"ended with {process.wait()}: {process.stderr and process.stderr.read()}")


def _get(port: int, path: str, context: ssl.SSLContext | None = None, host: str = "") -> tuple[int, bytes]:
    connection = (
        http.client.HTTPSConnection("127.0.0.1", port, timeout=WAIT_S, context=context)
        if context
        else http.client.HTTPConnection("127.0.0.1", port, timeout=WAIT_S)
    )
    connection.request("GET", path, headers={"Host": host} if host else {})
    answer = connection.getresponse()
    body = answer.read()
    connection.close()
    return answer.status, body


def test_the_first_start_prints_a_link_that_works(start: Callable[..., subprocess.Popen[str]]) -> None:
    process = start()
    port = int(_said(process, r"The pages are at http://127\.0\.0\.1:(\d+)"))
    link = _said(process, r"127\.0\.0\.1:\d+(/first/\S+)")
    status, body = _get(port, link)
    assert status == 200
    assert b"Choose a password" in body


def test_https_begins_when_a_certificate_appears_and_follows_a_new_one(
    start: Callable[..., subprocess.Popen[str]], settings: Settings
) -> None:
    process = start()
    _said(process, r"(The pages are at)")
    make(settings, ["cave.home.arpa"], [], SystemClock().now())
    port = int(_said(process, r"over https at https://cave\.home\.arpa:(\d+)"))
    places = kept.places(settings)
    before = _serial(port, places.authority)
    make(settings, ["cave.home.arpa", "book.home.arpa"], [], SystemClock().now())
    deadline = time.monotonic() + WAIT_S
    while _serial(port, places.authority) == before:
        assert time.monotonic() < deadline, "the new certificate was not taken up"


def test_the_names_of_the_certificate_are_names_of_this_machine(
    start: Callable[..., subprocess.Popen[str]], settings: Settings
) -> None:
    """Also one that the certificate got while the pages were served; no setting says them once more."""
    make(settings, ["cave.home.arpa"], [], SystemClock().now())
    process = start()
    http_port = int(_said(process, r"The pages are at http://127\.0\.0\.1:(\d+)"))
    port = int(_said(process, r"over https at https://cave\.home\.arpa:(\d+)"))
    authority = kept.places(settings).authority

    def over_https(name: str) -> int:
        context = ssl.create_default_context(cafile=str(authority))
        context.check_hostname = False  # the connection goes to the loopback address; what is judged is the Host
        return _get(port, "/sign-in", context, f"{name}:{port}")[0]

    assert over_https("cave.home.arpa") == 200
    assert _get(http_port, "/sign-in", host=f"cave.home.arpa:{http_port}")[0] == 200
    assert over_https("book.home.arpa") == 400
    make(settings, ["book.home.arpa"], [], SystemClock().now())
    deadline = time.monotonic() + WAIT_S
    while over_https("book.home.arpa") != 200:
        assert time.monotonic() < deadline, "the new name was not taken up"
        time.sleep(0.1)
    assert over_https("cave.home.arpa") == 400


def _serial(port: int, authority: Path) -> object:
    """The serial number of the certificate that a client sees which trusts the authority and checks the name."""
    context = ssl.create_default_context(cafile=str(authority))
    with (
        socket.create_connection(("127.0.0.1", port), WAIT_S) as plain,
        context.wrap_socket(plain, server_hostname="cave.home.arpa") as safe,
    ):
        certificate = safe.getpeercert()
    assert certificate
    return certificate["serialNumber"]


def test_an_open_connection_does_not_keep_it_from_ending(start: Callable[..., subprocess.Popen[str]]) -> None:
    process = start()
    port = int(_said(process, r"The pages are at http://127\.0\.0\.1:(\d+)"))
    with socket.create_connection(("127.0.0.1", port)) as lingering:
        head = ("POST /sign-in HTTP/1.1", "Host: localhost", "Content-Type: application/x-www-form-urlencoded")
        lingering.sendall("\r\n".join((*head, "Content-Length: 100", "", "name=")).encode())
        assert _get(port, "/healthz")[0] == 200
        process.send_signal(signal.SIGTERM)
        assert process.wait(WAIT_S) == 0


def test_a_port_that_is_taken_is_told_by_its_setting(start: Callable[..., subprocess.Popen[str]]) -> None:
    with socket.create_server(("127.0.0.1", 0)) as taken:
        process = start(RINDWATCH_HTTP_PORT=str(taken.getsockname()[1]))
        _out, err = process.communicate(timeout=WAIT_S)
    assert process.returncode == 1
    assert "RINDWATCH_HTTP_PORT: cannot listen at 127.0.0.1" in err
    assert "Traceback" not in err


def test_a_wrong_setting_stops_the_start(start: Callable[..., subprocess.Popen[str]]) -> None:
    process = start(RINDWATCH_SIGN_IN="never")
    _out, err = process.communicate(timeout=WAIT_S)
    assert process.returncode == 1
    assert "RINDWATCH_SIGN_IN" in err
    assert "Traceback" not in err
