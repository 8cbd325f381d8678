"""The cookie that carries a session's token."""

from starlette.requests import HTTPConnection
from starlette.responses import Response

from dashboard.people.sessions import LASTS

PLAIN_NAME = "rindwatch"
# The prefix makes browsers refuse the cookie from any other host and over plain http.
SECURE_NAME = "__Host-rindwatch"


def is_https(connection: HTTPConnection) -> bool:
    return connection.url.scheme == "https"


def token_of(connection: HTTPConnection) -> str:
    """The token that came with a request, "" when there is none."""
    return connection.cookies.get(SECURE_NAME if is_https(connection) else PLAIN_NAME, "")


def give(response: Response, connection: HTTPConnection, token: str) -> None:
    """Let the browser keep the token."""
    secure = is_https(connection)
    response.set_cookie(
        SECURE_NAME if secure else PLAIN_NAME, token, max_age=int(LASTS.total_seconds()),
        path="/", secure=secure, httponly=True, samesite="lax",
    )  # fmt: skip


def take_back(response: Response, connection: HTTPConnection) -> None:
    secure = is_https(connection)
    name = SECURE_NAME if secure else PLAIN_NAME
    response.delete_cookie(name, path="/", secure=secure, httponly=True, samesite="lax")
