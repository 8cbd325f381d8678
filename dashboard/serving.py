"""The process that serves the pages: http, and https beside it as soon as there is a certificate."""

import asyncio
import logging
import os
import signal
import socket
import subprocess
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from urllib.parse import urlsplit

import uvicorn

from collector.errors import CaveError, SettingsWrong
from collector.records.engine import reading
from collector.settings import Settings
from collector.supervisor import SUPERVISOR, end_with_supervisor
from dashboard.addresses import origin, own_addresses, reachable
from dashboard.app import Dashboard, create_app
from dashboard.door import MOST, Door, Visitors
from dashboard.https import kept
from dashboard.patience import Patient
from dashboard.people.links import has_owner, issue_link
from dashboard.settings import DashboardSettings

log = logging.getLogger(__name__)
GOODBYE_S = 2  # open requests may end; one that stays open for ever must not keep us
KEEP_ALIVE_S = 15
LOOK_EVERY_S = 2.0  # for a certificate that was made meanwhile
RENEWAL_LOOKS = 1_800  # looks between two thoughts of renewing: an hour
BACKLOG = 128  # connections that are let in at one turn of the event loop, at most
MAX_AT_ONCE = 2 * MOST  # a proxy of one's own alone can bring so many; beyond it "Service Unavailable" is the answer


class NotPrepared(CaveError):
    """The data folder could not be prepared; the lines above say why."""

    hint = "Mend what stands above and start again."


class Server(uvicorn.Server):
    """A server that leaves the signals to us, since there are two of them in one process."""

    @contextmanager
    def capture_signals(self) -> Iterator[None]:
        yield


def run(settings: Settings, own: DashboardSettings) -> None:
    """Serve until SIGTERM or SIGINT.

    Raises:
        SettingsWrong: a port or address that cannot be listened at.
    """
    logging.getLogger("uvicorn.error").setLevel(logging.WARNING)  # its starts and stops are told by the supervisor
    end_with_supervisor(threading.Event())
    if SUPERVISOR not in os.environ:
        _prepare()
    asyncio.run(_Serving(settings, own).run())


def _prepare() -> None:
    # A process of its own: what migrations load would stay with us for good.
    if subprocess.run([sys.executable, "-m", "collector.cli", "prepare"], check=False).returncode:
        raise NotPrepared("the data folder is not prepared")


class _Serving:
    """Both servers and their end."""

    def __init__(self, settings: Settings, own: DashboardSettings) -> None:
        self.settings, self.own = settings, own
        self.app: Dashboard = create_app(settings, own)
        self.running: list[tuple[Server, asyncio.Task[None]]] = []
        self.visitors = Visitors(excepted=own.trusted_proxy)
        self.certificate_ns = 0
        self.stopping = asyncio.Event()

    async def run(self) -> None:
        loop = asyncio.get_running_loop()
        for number in (signal.SIGTERM, signal.SIGINT):
            loop.add_signal_handler(number, self.stopping.set)
        await self._open("http", self.own.http_port)
        self._greet()
        looking = asyncio.create_task(self._look_for_certificate())
        await self.stopping.wait()
        looking.cancel()
        for server, _task in self.running:
            server.should_exit = True
        await asyncio.gather(*(task for _server, task in self.running))

    async def _open(self, scheme: str, port: int, **tls: str) -> None:
        listening = Door.around(_listen(self.settings.listen, port, f"RINDWATCH_{scheme.upper()}_PORT"), self.visitors)
        proxy = self.own.trusted_proxy
        config = uvicorn.Config(
            self.app, lifespan="off" if tls else "on", log_config=None, access_log=False, server_header=False,
            timeout_graceful_shutdown=GOODBYE_S, timeout_keep_alive=KEEP_ALIVE_S, limit_concurrency=MAX_AT_ONCE,
            backlog=BACKLOG, proxy_headers=bool(proxy), forwarded_allow_ips=proxy or None, ws="none", http=Patient,
            ssl_certfile=tls.get("certificate"), ssl_keyfile=tls.get("key"),
        )  # fmt: skip
        server = Server(config)
        task = asyncio.create_task(server.serve([listening]))
        task.add_done_callback(lambda _done: self.stopping.set())
        while not server.started and not task.done():
            await asyncio.sleep(0.01)
        self.running.append((server, task))
        if tls:
            self._name_https(listening.getsockname()[1])
        else:
            self.app.state.house.doors.http = origin(
                "http", reachable(self.settings.listen, self.settings.own_address), listening.getsockname()[1]
            )

    def _name_https(self, port: int) -> None:
        """Go by the names of the certificate that is in place."""
        known, doors = kept.kept(self.settings), self.app.state.house.doors
        here = reachable(self.settings.listen, self.settings.own_address)
        doors.https = origin("https", known.host if known else here, port)
        doors.names = frozenset(known.names) if known else frozenset()

    def _greet(self) -> None:
        house = self.app.state.house
        print(f"The pages are at {house.doors.http}", flush=True)
        if self.own.sign_in == "open-on-loopback":
            return
        with reading(house.engine) as db:
            owned = has_owner(db)
        if not owned:
            path = issue_link(house.engine, house.clock)
            print(f"Set your password within 24 hours, by this link:\n  {house.doors.http}{path}", flush=True)

    async def _look_for_certificate(self) -> None:
        looks = 0
        while True:
            try:
                await self._take_certificate()
                if looks % RENEWAL_LOOKS == 0:
                    await self._renew()
            except Exception:  # http goes on whatever is wrong with the certificate
                log.exception("certificate_not_taken")
            looks += 1
            await asyncio.sleep(LOOK_EVERY_S)

    async def _take_certificate(self) -> None:
        """Begin https when a certificate has come, or serve the new one when it has changed."""
        places = kept.places(self.settings)
        try:
            changed_ns = places.facts.stat().st_mtime_ns
        except FileNotFoundError:
            return
        if changed_ns == self.certificate_ns:
            return
        self.certificate_ns, first = changed_ns, self.certificate_ns == 0
        certificate, key = str(places.certificate), str(places.key)
        if first:
            await self._open("https", self.own.https_port, certificate=certificate, key=key)
            print(f"The pages are over https at {self.app.state.house.doors.https}", flush=True)
            return
        context = self.running[-1][0].config.ssl
        assert context is not None
        context.load_cert_chain(certificate, key)
        self._name_https(urlsplit(self.app.state.house.doors.https).port or 443)
        log.info("certificate_changed")

    async def _renew(self) -> None:
        known = kept.kept(self.settings)
        if known is None or not known.is_due(datetime.now(UTC), own_addresses(self.settings.own_address)):
            return
        child = await asyncio.create_subprocess_exec(sys.executable, "-m", "dashboard.https", "renew")
        log.info("certificate_renewed code=%d", await child.wait())


def _listen(host: str, port: int, setting: str) -> socket.socket:
    """A listening socket; another program that has the port is told by name of the setting."""
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    try:
        listening = socket.create_server((host, port), family=family, backlog=BACKLOG)
    except OSError as error:
        raise SettingsWrong(setting, f"cannot listen at {host}, port {port}: {error.strerror}") from error
    return listening
