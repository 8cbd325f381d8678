"""Signing in with a passkey: the question to the phone, and its answer."""

import secrets
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, ClassVar

from fastapi import APIRouter
from sqlalchemy import select
from starlette.responses import JSONResponse, Response

from collector.errors import EntryRefused
from collector.records.tables import person
from dashboard.pages.passkeys import MAX_BYTES, NOT_HERE, TOO_LATE, TOO_OFTEN, client_address, here
from dashboard.pages.sign_in import begin
from dashboard.paths import own_path
from dashboard.people import passkey_answers, passkeys
from dashboard.people.passkey_questions import LASTS, Question, request_options
from dashboard.people.passkeys import Passkey
from dashboard.visit import Anyone, Texts, Visit

router = APIRouter()
PATH = "/sign-in/passkey"
COOKIE = "__Host-rindwatch-passkey"  # tells the browser that was asked from others; offered over https only
NOT_KNOWN = "This passkey is not known here, or it was removed. Sign in with the password."
COPIED = (
    "This passkey's count went backwards, as a copy's would. It is refused from now on. Sign in with the password, then"
    " remove it under Settings, My sign-in, and make a new one."
)


@dataclass(frozen=True, slots=True)
class PasskeyRefusedPage:
    template: ClassVar[str] = "passkey_refused.html"
    title: str
    said: str
    next: str


class TooOften(EntryRefused):
    """One try too many within the minute."""

    def __init__(self) -> None:
        super().__init__("credential", TOO_OFTEN)


@router.post(PATH + "/question")
def ask(visit: Anyone) -> Response:
    """A new challenge for this browser; the cookie binds the answer to it."""
    place = here(visit)
    if place is None:
        return JSONResponse({"said": NOT_HERE}, 422)
    if not visit.house.tries.ask(client_address(visit)):
        return JSONResponse({"said": TOO_OFTEN}, 429)
    browser = secrets.token_urlsafe(24)
    answer = JSONResponse(request_options(visit.house.entering.ask(browser, place, visit.now_at)))
    answer.set_cookie(
        COOKIE, browser, max_age=int(LASTS.total_seconds()), path="/", secure=True, httponly=True, samesite="strict"
    )
    return answer


@router.post(PATH, max_body_size=MAX_BYTES)
def sign_in(visit: Anyone, texts: Texts) -> Response:
    after = own_path(texts.get("next", "/"))
    try:
        person_id = _who(visit, texts.get("credential", ""))
    except EntryRefused as refused:
        page = PasskeyRefusedPage("Not signed in", str(refused), after)
        return visit.page(page, 429 if isinstance(refused, TooOften) else 422)
    return begin(visit, person_id, after)


def _who(visit: Visit, text: str) -> str:
    """The person whose passkey signed the answer.

    Raises:
        EntryRefused: nobody's did, or not for the question that this browser was asked.
    """
    place = here(visit)
    if place is None:
        raise EntryRefused("credential", NOT_HERE)
    question = visit.house.entering.take(visit.request.cookies.get(COOKIE, ""), place, visit.now_at)
    if question is None:
        raise EntryRefused("credential", TOO_LATE)
    credential = passkey_answers.read(text)
    with visit.looking() as db:
        one = passkeys.known(db, credential["id"])
        name = db.execute(select(person.c.name).where(person.c.id == one.person_id)).scalar() if one else ""
    if not visit.house.tries.take(str(name), client_address(visit)):
        raise TooOften
    if one is None or passkey_answers.user_of(credential) not in {None, one.person_id}:
        raise EntryRefused("credential", NOT_KNOWN)
    _count(visit, one, credential, question, str(name))
    return one.person_id


def _count(visit: Visit, one: Passkey, credential: Mapping[str, Any], question: Question, name: str) -> None:
    """Verify the answer, then hold its count to the one before."""
    count = passkey_answers.sign_count(credential, question, one.public_key)
    if one.doubted_at is not None:
        raise EntryRefused("credential", COPIED)
    if passkeys.went_backwards(one, count):
        with visit.changing() as db:
            passkeys.doubt(db, one, name, visit.now_at)
        raise EntryRefused("credential", COPIED)
    with visit.changing() as db:
        if not passkeys.used(db, one, count, visit.now_at):
            raise EntryRefused("credential", TOO_LATE)
