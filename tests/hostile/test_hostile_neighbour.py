"""A neighbour in the network who holds connections open, sends slowly, or forges what only a proxy may say."""

import asyncio
import socket
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager, suppress

import anyio
import pytest
import uvicorn
from fastapi import FastAPI, Request
from starlette.responses import Response

from dashboard import patience
from dashboard.door import OF_ONE_ADDRESS, Door, Visitors
from dashboard.patience import Patient
from tests.own_loop import with_own_loop

WAIT_S = 20
HEAD = b"GET / HTTP/1.1\r\nHost: x\r\n"
LARGE = 12_000_000  # bytes: more than both ends' buffers hold
POST = b"POST / HTTP/1.1\r\nHost: x\r\nContent-Length: 9\r\n\r\n123"


@pytest.fixture(autouse=True)
def hurried(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(patience, "HEAD_S", 0.3)
    monkeypatch.setattr(patience, "BODY_S", 0.6)
    monkeypatch.setattr(patience, "TAKE_S", 0.5)


@asynccontextmanager
async def served(proxy: str = "") -> AsyncIterator[int]:
    """A server as ours is set up, with a page that says how it was asked."""
    app = FastAPI(telemetry={"tracing": False})

    @app.api_route("/", methods=["GET", "POST"])
    async def page(request: Request) -> dict[str, str]:
        await request.body()
        return {"scheme": request.url.scheme, "from": request.client.host if request.client else ""}

    @app.get("/large")
    async def large() -> Response:
        return Response(b"x" * LARGE)

    listening = Door.around(socket.create_server(("127.0.0.1", 0)), Visitors(proxy))
    server = uvicorn.Server(uvicorn.Config(
        app, lifespan="off", log_config=None, access_log=False, limit_concurrency=400, ws="none", http=Patient,
        proxy_headers=bool(proxy), forwarded_allow_ips=proxy or None, timeout_keep_alive=15,
    ))  # fmt: skip
    server.capture_signals = suppress  # type: ignore[method-assign, assignment]
    task = asyncio.create_task(server.serve([listening]))
    while not server.started:
        await asyncio.sleep(0.01)
    try:
        yield listening.getsockname()[1]
    finally:
        server.should_exit = True
        await task


async def answer(port: int, request: bytes = HEAD + b"Connection: close\r\n\r\n") -> bytes:
    reader, writer = await asyncio.open_connection("127.0.0.1", port)
    writer.write(request)
    with anyio.fail_after(WAIT_S):
        found = await reader.read()
    writer.close()
    return found


async def ends(reader: asyncio.StreamReader) -> None:
    """Wait until the server has had enough."""
    with anyio.fail_after(WAIT_S), suppress(ConnectionError):
        while await reader.read(100):
            pass


@pytest.mark.parametrize("begun", [b"", b"GET /", HEAD, POST])
@with_own_loop
async def test_a_request_that_never_ends_is_ended(begun: bytes) -> None:
    async with served() as port:
        reader, writer = await asyncio.open_connection("127.0.0.1", port)
        writer.write(begun)
        await ends(reader)
        writer.close()
        assert b'"scheme":"http"' in await answer(port)


@with_own_loop
async def test_single_bytes_do_not_buy_time() -> None:
    async with served() as port:
        reader, writer = await asyncio.open_connection("127.0.0.1", port)
        writer.write(HEAD)
        ended = asyncio.create_task(ends(reader))
        for _ in range(100):
            if ended.done():
                break
            with suppress(ConnectionError):
                writer.write(b"X-A: b\r\n")
            await asyncio.sleep(0.05)
        assert ended.done()
        writer.close()


@with_own_loop
async def test_a_connection_kept_open_serves_again_and_then_is_held_to_the_same() -> None:
    async with served() as port:
        reader, writer = await asyncio.open_connection("127.0.0.1", port)
        for _ in range(3):
            writer.write(HEAD + b"\r\n")
            with anyio.fail_after(WAIT_S):
                assert b"200 OK" in await reader.readuntil(b"}")
        writer.write(b"GET")
        await ends(reader)
        writer.close()


async def open_for_large(port: int, kept_open: bool) -> socket.socket:
    """Ask for much, with a small hand to take it."""
    client = socket.socket()
    client.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 65_536)
    client.setblocking(False)
    loop = asyncio.get_running_loop()
    await loop.sock_connect(client, ("127.0.0.1", port))
    last = b"\r\n" if kept_open else b"Connection: close\r\n\r\n"
    await loop.sock_sendall(client, HEAD.replace(b"/ ", b"/large ") + last)
    return client


@pytest.mark.parametrize("kept_open", [True, False])
@with_own_loop
async def test_an_answer_that_nobody_takes_is_ended(kept_open: bool) -> None:
    async with served() as port:
        client = await open_for_large(port, kept_open)
        loop, found = asyncio.get_running_loop(), 0
        await asyncio.sleep(2)
        with anyio.fail_after(WAIT_S), suppress(ConnectionError):
            while more := await loop.sock_recv(client, 1_000_000):
                found += len(more)
        client.close()
        assert found < LARGE
        assert b'"scheme":"http"' in await answer(port)


@pytest.mark.parametrize("kept_open", [True, False])
@with_own_loop
async def test_an_answer_that_is_taken_slowly_is_waited_for(kept_open: bool) -> None:
    async with served() as port:
        client = await open_for_large(port, kept_open)
        loop, found = asyncio.get_running_loop(), 0
        with client, anyio.fail_after(WAIT_S):
            while more := await loop.sock_recv(client, 65_536):
                found += len(more)
                if found > LARGE:
                    break
                await asyncio.sleep(0.01)
        assert found > LARGE


@with_own_loop
async def test_one_address_takes_no_more_than_its_places(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(patience, "HEAD_S", WAIT_S)
    async with served() as port:
        held = [await asyncio.open_connection("127.0.0.1", port) for _ in range(OF_ONE_ADDRESS)]
        await asyncio.sleep(0.1)
        with suppress(ConnectionError):
            assert await answer(port) == b""
        for _reader, writer in held:
            writer.close()
            with suppress(ConnectionError):
                await writer.wait_closed()
        await asyncio.sleep(0.1)
        assert b'"scheme":"http"' in await answer(port)


@pytest.mark.parametrize(("proxy", "believed"), [("", False), ("192.0.2.1", False), ("127.0.0.1", True)])
@with_own_loop
async def test_only_the_named_proxy_is_believed(proxy: str, believed: bool) -> None:
    said = b"X-Forwarded-Proto: https\r\nX-Forwarded-For: 203.0.113.9\r\nConnection: close\r\n\r\n"
    async with served(proxy) as port:
        found = await answer(port, HEAD + said)
    assert (b'"scheme":"https"' in found) is believed
    assert (b"203.0.113.9" in found) is believed


LONG_HEAD = HEAD + b"A: " + b"b" * 1_000_000 + b"\r\n\r\n"
TWO_LENGTHS = b"POST / HTTP/1.1\r\nHost: x\r\nContent-Length: 5\r\nContent-Length: 6\r\n\r\n123456"
BELOW_ZERO = b"POST / HTTP/1.1\r\nHost: x\r\nContent-Length: -1\r\n\r\n"


@pytest.mark.parametrize(
    "request_", [b"GET / HTTP/1.1\r\n\r\n", b"\x16\x03\x01\x02\x00", LONG_HEAD, TWO_LENGTHS, BELOW_ZERO]
)
@with_own_loop
async def test_what_is_no_request_is_refused_and_the_next_one_served(request_: bytes) -> None:
    async with served() as port:
        found = b""
        with suppress(ConnectionError):
            found = await answer(port, request_)
        assert found == b"" or b" 400 " in found.split(b"\r\n")[0]
        assert b"Traceback" not in found
        assert b" 200 " in await answer(port)
