"""Entries and photos as a phone sends them: each under an id made there, stored once however often it is sent."""

from collections.abc import Mapping
from pathlib import Path
from typing import Annotated, Any

from fastapi import APIRouter, Body, Depends, HTTPException, Request
from fastapi import Path as InPath
from starlette.requests import ClientDisconnect
from starlette.responses import JSONResponse, Response

from collector.backup.form import PHOTOS
from collector.errors import EntryRefused
from collector.settings import Settings
from dashboard.api.shapes import ERRORS, TOO_MUCH
from dashboard.errors_shown import Trouble
from dashboard.visit import Helper
from dashboard.wheels.bodies.base import V7_PATTERN
from dashboard.wheels.entries import Outcome, put, read_entry
from dashboard.wheels.flags import words_of
from dashboard.wheels.photos import MAX_BYTES, put_photo
from dashboard.wheels.refused_words import AGAIN_PHOTO, refused_words

router = APIRouter(tags=["entries"], responses={**ERRORS, **TOO_MUCH})
V7Id = Annotated[str, InPath(pattern=V7_PATTERN, description="UUIDv7 made where the entry was made (RFC 9562)")]
STATUS: Mapping[Outcome, int] = {"stored": 201, "same": 200}
OTHER_CONTENT = Trouble(409, "Something else is kept under this id.", "Keep what you have and look at both.")


def photos_folder(settings: Settings) -> Path:
    """Where photos lie; the nightly copy takes this folder along."""
    return settings.data / PHOTOS


@router.put("/entries/{id}", responses={201: {"description": "Stored"}, 409: {"description": "Other content"}})
def put_entry(visit: Helper, id: V7Id, sent: Annotated[dict[str, Any], Body()]) -> Response:
    """Keep one entry. Never refused for what the wheel has been through: what is odd comes back as flags."""
    try:
        _can_be_kept(sent)
        if sent.get("id", id) != id:
            raise EntryRefused("id", f"id must be the one in the address, {id}, got {str(sent['id'])[:60]}")
        new = read_entry({**sent, "id": id})
    except EntryRefused as refused:
        body = sent.get("body")
        return _refused(refused, refused_words(body.get("kind") if isinstance(body, dict) else None, refused.field))
    with visit.changing() as db:
        stored = put(db, new, received_at=visit.now_at, who=visit.person.name)
    if stored.outcome == "conflict":
        raise HTTPException(409, OTHER_CONTENT)
    flags = [{"name": name, "words": words_of((name,))[0]} for name in stored.flags]
    return _answer(id, stored.outcome, visit.now_at.isoformat(), flags)


async def whole_body(request: Request) -> bytes:
    """The bytes of a request; the route's limit stops what is too long while it streams in."""
    try:
        return await request.body()
    except ClientDisconnect as gone:
        # A phone that walked out of the signal sends it again; nobody is there to be answered.
        raise HTTPException(400) from gone


@router.put(
    "/photos/{id}",
    max_body_size=MAX_BYTES,
    responses={201: {"description": "Stored"}, 409: {"description": "Other content"}},
    openapi_extra={"requestBody": {"required": True, "content": {"image/*": {}, "application/octet-stream": {}}}},
)
def put_one_photo(visit: Helper, id: V7Id, data: Annotated[bytes, Depends(whole_body)]) -> Response:
    """Keep one photo: JPEG, PNG, WebP or HEIC; only its pixels are kept, upright."""
    try:
        outcome = put_photo(
            visit.house.engine, photos_folder(visit.house.settings), id, data,
            received_at=visit.now_at, who=visit.person.name,
        )  # fmt: skip
    except EntryRefused as refused:
        return _refused(refused, AGAIN_PHOTO)
    if outcome == "conflict":
        raise HTTPException(409, OTHER_CONTENT)
    return _answer(id, outcome, visit.now_at.isoformat(), [])


def _answer(id: str, outcome: Outcome, received_at: str, flags: list[dict[str, str]]) -> Response:
    content = {"id": id, "outcome": outcome, "received_at": received_at, "flags": flags}
    return JSONResponse(content, STATUS[outcome], headers={"Cache-Control": "no-store"})


def _refused(refused: EntryRefused, hint: str) -> Response:
    # The sentence begins with the field's own name, which is not to be made a capital.
    error = {"what": str(refused), "hint": hint, "field": refused.field}
    return JSONResponse({"error": error}, 422)


def _can_be_kept(sent: object) -> None:
    """Refuse texts that a database or an answer cannot hold; no keyboard makes them."""
    waiting = [sent]
    while waiting:
        part = waiting.pop()
        if isinstance(part, str) and ("\0" in part or any("\ud800" <= sign <= "\udfff" for sign in part)):
            raise EntryRefused("entry", "a text must not hold the sign NUL or half of a sign")
        if isinstance(part, dict):
            waiting += [*part, *part.values()]
        elif isinstance(part, list):
            waiting += part
