"""Headers of every answer, also of the ones that tell of an error."""

from starlette.datastructures import MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send

POLICY = "; ".join(
    [
        "default-src 'none'", "script-src 'self'", "style-src 'self'", "img-src 'self' data: blob:",
        "connect-src 'self'", "manifest-src 'self'", "worker-src 'self'", "form-action 'self'", "base-uri 'none'",
        "frame-ancestors 'none'",
    ]
)  # fmt: skip
EVERYWHERE = {
    "Content-Security-Policy": POLICY,
    "X-Content-Type-Options": "nosniff",
    # Not no-referrer: browsers would then send "Origin: null" with our own forms.
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "geolocation=(), microphone=(), payment=()",
}


# Browsers heed it only on a connection they trust, and complain of it on others.
ON_HTTPS = {"Cross-Origin-Opener-Policy": "same-origin"}


class AnswerHeaders:
    """Adds the headers; a header that the answer has already stays as it is."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        added = EVERYWHERE | (ON_HTTPS if scope.get("scheme") == "https" else {})

        async def send_with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in added.items():
                    headers.setdefault(name, value)
            await send(message)

        await self.app(scope, receive, send_with_headers if scope["type"] == "http" else send)
