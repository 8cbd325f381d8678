"""What went wrong, for people: one page, one JSON shape, and nothing of the inside."""

import logging
from dataclasses import dataclass
from typing import ClassVar

from fastapi import FastAPI, HTTPException, Request
from fastapi.exceptions import RequestValidationError
from sqlalchemy.exc import OperationalError
from starlette.datastructures import Headers
from starlette.exceptions import HTTPException as StarletteHTTPException
from starlette.responses import HTMLResponse, JSONResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from collector import errors
from collector.database_code import database_code
from dashboard.house import House
from dashboard.household import Household

logger = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class Trouble:
    """What is said: what happened, and what to do now."""

    status: int
    what: str
    hint: str = ""


@dataclass(frozen=True, slots=True)
class ErrorPage:
    template: ClassVar[str] = "error.html"
    title: str
    hint: str
    status: int
    may_go_home: bool


BY_STATUS = {
    400: Trouble(400, "This request could not be read.", "Go back and try again."),
    401: Trouble(401, "Sign in first."),
    403: Trouble(403, "That is not for you to do.", "Ask the owner of this dairy; it is an owner's or helper's task."),
    404: Trouble(404, "There is no such page.", "It may have been moved; start again from the first page."),
    405: Trouble(405, "That cannot be done here.", "Go back and use the page's own buttons."),
    409: Trouble(409, "Somebody changed this meanwhile.", "Look at it again, then decide."),
    413: Trouble(413, "That is too much at once.", "Send it in smaller parts."),
    422: Trouble(422, "Something in this form is missing or not understood.", "Go back and look at what you typed."),
    429: Trouble(429, "Too many tries.", "Wait a few minutes, then try again."),
    503: Trouble(503, "This is not to be had just now.", "Try again in a minute."),
}
NO_RECORDS = Trouble(
    503, "Nothing can be read or saved just now.", "Try again in a minute; look at the disk if this stays."
)
BROKEN = Trouble(500, "Something broke here.", "It has been noted in the log of this machine. Go back and try again.")
# A sentence of ours for what the world did: the error's own text names files and addresses, which belong in the log.
BY_ERROR: dict[type[errors.CaveError], Trouble] = {
    errors.StoreFull: Trouble(503, "The disk of this machine is full."),
    errors.StoreUnavailable: Trouble(503, "Nothing can be saved just now."),
    errors.SchemaMissing: Trouble(503, "Nothing is prepared here yet."),
    errors.SchemaOlder: Trouble(503, "This data was written by an older version of rindwatch."),
    errors.SchemaTooNew: Trouble(503, "This data was written by a newer version of rindwatch."),
    errors.RecordsUnavailable: Trouble(503, "Nothing can be read or saved just now."),
    errors.OlderUnavailable: Trouble(503, "What is no longer kept on this machine cannot be read just now."),
    errors.BrokerUnavailable: Trouble(503, "The probes' messages cannot be reached just now."),
}


def of_error(error: errors.CaveError) -> Trouble:
    """What is said of an error of ours."""
    for kind, trouble in BY_ERROR.items():
        if isinstance(error, kind):
            return Trouble(trouble.status, trouble.what, error.hint)
    return Trouble(422 if isinstance(error, errors.EntryRefused) else 503, _sentence(str(error)), error.hint)


def _sentence(text: str) -> str:
    return text[:1].upper() + text[1:] + ("" if text.endswith((".", "?", "!")) else ".")


def show(request: Request, trouble: Trouble) -> Response:
    """The trouble as a page, or as JSON below /api."""
    if request.url.path.startswith("/api/"):
        return JSONResponse({"error": {"what": trouble.what, "hint": trouble.hint}}, trouble.status)
    house: House = request.app.state.house
    page = ErrorPage(trouble.what, trouble.hint, trouble.status, getattr(request.state, "who", None) is not None)
    # Shown without a look at the records: they may be what is broken.
    html = house.templates.render(page.template, Household(), page=page)
    return HTMLResponse(html, trouble.status, headers={"Cache-Control": "no-store"})


def _http(request: Request, error: Exception) -> Response:
    assert isinstance(error, StarletteHTTPException)
    known = BY_STATUS.get(error.status_code) or Trouble(error.status_code, "That did not work.")
    own_words = isinstance(error, HTTPException) and isinstance(error.detail, Trouble)
    answer = show(request, error.detail if own_words else known)  # type: ignore[arg-type]
    answer.headers.update(error.headers or {})
    return answer


def _not_understood(request: Request, error: Exception) -> Response:
    assert isinstance(error, RequestValidationError)
    if not request.url.path.startswith("/api/"):
        return show(request, BY_STATUS[422])
    where = "; ".join(f"{'.'.join(str(part) for part in e['loc'][1:])}: {e['msg']}" for e in error.errors()[:5])
    return show(request, Trouble(422, f"Not understood: {where}", "See /api/openapi.json for what is expected."))


def _cave(request: Request, error: Exception) -> Response:
    assert isinstance(error, errors.CaveError)
    logger.warning("page_refused path=%s reason=%s", request.url.path, error)
    return show(request, of_error(error))


def _broken(request: Request, error: Exception) -> Response:
    logger.error("page_broke path=%s kind=%s", request.url.path, type(error).__name__)
    return show(request, BROKEN)


def _unsaved(request: Request, error: Exception) -> Response:
    logger.error("records_refused path=%s code=%s reason=%s", request.url.path, database_code(error), error)
    return show(request, NO_RECORDS)


class TooLarge:
    """Says in our words that a request was too large; the library would answer in its own, past every handler."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        said = False

        async def send_own(message: Message) -> None:
            nonlocal said
            if message["type"] == "http.response.start" and _is_plain_413(message):
                said = True
                await show(Request(scope), BY_STATUS[413])(scope, receive, send)
            elif not said:
                await send(message)

        await self.app(scope, receive, send_own if scope["type"] == "http" else send)


def _is_plain_413(message: Message) -> bool:
    return message["status"] == 413 and Headers(raw=message["headers"]).get("content-type", "").startswith("text/plain")


def register(app: FastAPI) -> None:
    """Let every error end in one of ours."""
    app.add_exception_handler(StarletteHTTPException, _http)
    app.add_exception_handler(RequestValidationError, _not_understood)
    app.add_exception_handler(errors.CaveError, _cave)
    app.add_exception_handler(OperationalError, _unsaved)
    app.add_exception_handler(Exception, _broken)
