"""Answers that are packed on their way: numbers of a chart shrink to an eighth."""

import gzip

from starlette.datastructures import Headers
from starlette.responses import Response

LEAST_BYTES = 1_000
LEVEL = 6  # measured: a year's chart in 4 ms, 27 kB; level 9 saves 1 kB in four times the time


def packed(asked: Headers, body: bytes, media_type: str, headers: dict[str, str]) -> Response:
    """The body, packed when the browser takes that and it is worth it."""
    headers = {**headers, "Vary": "Accept-Encoding"}
    if len(body) >= LEAST_BYTES and "gzip" in asked.get("accept-encoding", ""):
        body = gzip.compress(body, LEVEL, mtime=0)
        headers["Content-Encoding"] = "gzip"
    return Response(body, media_type=media_type, headers=headers)
