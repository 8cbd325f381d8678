"""The gate before every page: right host, own change, known person."""

import logging
import socket
from collections.abc import Collection
from urllib.parse import quote

from fastapi import Request
from sqlalchemy.exc import DatabaseError
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import MutableHeaders
from starlette.responses import RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from collector.database_code import database_code
from collector.records.engine import reading
from dashboard.errors_shown import NO_RECORDS, Trouble, show
from dashboard.house import House
from dashboard.household_kept import load
from dashboard.people import cookie, sessions, tokens
from dashboard.people.origin import HARMLESS, host_name, host_of, is_loopback, is_own_change, is_own_host
from dashboard.people.person import OWNER_NAME, Person, Who
from dashboard.settings import DashboardSettings

logger = logging.getLogger(__name__)

WRONG_HOST = Trouble(
    400, "This machine does not go by that name.", "Use its address, or put the name into RINDWATCH_TRUSTED_HOSTS."
)
NO_TOKEN = Trouble(401, "This token is not known here, or it was ended.", "Make one under Settings, Programs.")
NOT_OWN = Trouble(403, "This change came from another page.", "Open the page here and do it again.")


class Gate:
    """Lets through what is public, and what a known person asks for.

    Args:
        public: paths open to everybody; one that ends in "/" opens all below it.
    """

    def __init__(self, app: ASGIApp, house: House, public: Collection[str]) -> None:
        self.app, self.house = app, house
        self.exact = frozenset(path for path in public if not path.endswith("/"))
        self.below = tuple(path for path in public if path.endswith("/"))
        self.names = own_names(house.own)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] == "lifespan":
            await self.app(scope, receive, send)
            return
        if scope["type"] != "http":
            await send({"type": "websocket.close", "code": 1008})
            return
        request = Request(scope, receive)
        answer = await self._stopped(request)
        if answer is not None:
            await answer(scope, receive, send)
            return
        await self.app(scope, receive, self._with_cookie(request, send))

    async def _stopped(self, request: Request) -> Response | None:
        """The refusal, or None when the request may pass; then `request.state.who` is set."""
        request.state.who = None
        request.state.token = None
        request.state.cookie_due = False
        host = request.headers.get("host", "")
        # A static file is the same for everybody and asked for often: no look into the records.
        if request.url.path.startswith("/static/") and request.method in HARMLESS and self._is_own(host):
            return None
        try:
            return await run_in_threadpool(self._judge, request, host)
        except DatabaseError as error:
            logger.exception("records_unreachable path=%s code=%s", request.url.path, database_code(error))
            return show(request, NO_RECORDS)

    def _judge(self, request: Request, host: str) -> Response | None:
        own, headers = self.house.own.base_address, request.headers
        if not self._is_own(host) and host_name(host) != host_of(self._base_address()):
            return show(request, WRONG_HOST)
        if not is_own_change(request.method, headers, {own}) and not is_own_change(
            request.method, headers, {self._base_address()}
        ):
            return show(request, NOT_OWN)
        shown = shown_token(request)
        if shown:
            request.state.token = tokens.find(self.house.engine, shown, self.house.clock)
            return show(request, NO_TOKEN) if request.state.token is None else None
        request.state.who = self._who(request)
        if request.state.who is None and not self.is_public(request.url.path):
            return _sign_in_first(request)
        return None

    def _is_own(self, host: str) -> bool:
        return is_own_host(host, self.names) or host_name(host) in self.house.doors.names

    def is_public(self, path: str) -> bool:
        return path in self.exact or path.startswith(self.below)

    def _who(self, request: Request) -> Who | None:
        token = cookie.token_of(request)
        found = sessions.find(self.house.engine, token, self.house.clock) if token else None
        if found:
            request.state.cookie_due = found.noted
            return Who(found.person, found.id)
        return self._own_browser(request)

    def _own_browser(self, request: Request) -> Who | None:
        if self.house.own.sign_in != "open-on-loopback" or request.client is None:
            return None
        if not (is_loopback(request.client.host) and is_loopback(host_name(request.headers.get("host", "")))):
            return None
        with reading(self.house.engine) as db:
            return Who(sessions.owner(db) or Person("", OWNER_NAME, "owner"), "")

    def _base_address(self) -> str:
        with reading(self.house.engine) as db:
            return load(db).base_address

    def _with_cookie(self, request: Request, send: Send) -> Send:
        """Gives the cookie again when the session slid on, so that a phone in use is never asked to sign in."""
        if not request.state.cookie_due:
            return send

        async def send_with_cookie(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                if "set-cookie" not in headers:
                    fresh = Response()
                    cookie.give(fresh, request, cookie.token_of(request))
                    headers.append("set-cookie", fresh.headers["set-cookie"])
            await send(message)

        return send_with_cookie


def _sign_in_first(request: Request) -> Response:
    if request.url.path.startswith("/api/") or request.method not in {"GET", "HEAD"}:
        return show(request, Trouble(401, "Sign in first.", "Open the pages here and sign in, then do it again."))
    target = request.url.path + (f"?{request.url.query}" if request.url.query else "")
    return RedirectResponse("/sign-in" if target == "/" else f"/sign-in?next={quote(target, safe='')}", 303)


def shown_token(request: Request) -> str:
    """The token that a program shows below /api, "" when it shows none. A cookie beside it counts for nothing."""
    kind, _, shown = request.headers.get("authorization", "").partition(" ")
    return shown.strip() if kind.lower() == "bearer" and request.url.path.startswith("/api/") else ""


def own_names(own: DashboardSettings) -> frozenset[str]:
    """The names that this machine may be called by; "*.local" is this machine's own by multicast DNS."""
    machine = socket.gethostname().lower()
    names = {"localhost", machine, f"{machine.partition('.')[0]}.local", *own.more_hosts}
    if own.base_address:
        names.add(host_of(own.base_address))
    return frozenset(names)
