"""My sign-in: passkeys of whoever is signed in, made on the phone that holds them, seen and removed here."""

import json
from collections.abc import Sequence
from dataclasses import dataclass
from typing import ClassVar

from fastapi import APIRouter, HTTPException
from sqlalchemy import select
from starlette.responses import Response

from collector.errors import EntryRefused
from collector.records.tables import person
from dashboard.forms import Form
from dashboard.people import passkey_answers, passkeys
from dashboard.people.device import device_name
from dashboard.people.passkey_places import place_of, places
from dashboard.people.passkey_questions import PasskeyPlace, creation_options
from dashboard.people.passkeys import Passkey
from dashboard.people.passwords import is_right
from dashboard.visit import Guest, Texts, Visit

router = APIRouter()
PATH = "/settings/sign-in"
MAKING = PATH + "/passkeys"
MAX_BYTES = 64_000
NOT_HERE = "Passkeys do not work at this address."
TOO_LATE = "That took too long, or was begun elsewhere. Begin again."
TOO_OFTEN = "Too many tries. Wait a minute, then try again."


@dataclass(frozen=True, slots=True)
class MySignInPage:
    """`works_at`: an address at which passkeys work, when this is none; "" where the house has none.

    `has_session`: False for this machine's own browser, which is let in without signing in.
    """

    template: ClassVar[str] = "my_sign_in.html"
    title: str
    passkeys: Sequence[Passkey]
    form: Form
    works_here: bool
    works_at: str
    has_session: bool
    making: str = MAKING


@dataclass(frozen=True, slots=True)
class MakePasskeyPage:
    """`options`: what the browser is told to make, as JSON."""

    template: ClassVar[str] = "passkey_make.html"
    title: str
    name: str
    options: str
    action: str = MAKING + "/keep"


def here(visit: Visit) -> PasskeyPlace | None:
    """The address of this visit, when passkeys work there."""
    return place_of(visit.request, visit.house, visit.household.base_address)


def elsewhere(visit: Visit) -> str:
    """An address at which passkeys work, "" when the house has none."""
    return next(iter(places(visit.house, visit.household.base_address)), "")


def client_address(visit: Visit) -> str:
    return visit.request.client.host if visit.request.client else ""


def _page(visit: Visit, form: Form) -> MySignInPage:
    with visit.looking() as db:
        held = passkeys.of_person(db, visit.person.id)
    place = here(visit)
    return MySignInPage(
        "My sign-in", held, form, place is not None, "" if place else elsewhere(visit), bool(visit.session_id)
    )


@router.get(PATH)
def my_sign_in(visit: Guest) -> Response:
    device = device_name(visit.request.headers.get("user-agent", ""))
    return visit.page(_page(visit, Form({"name": device})))


@router.post(MAKING)
def begin(visit: Guest, texts: Texts) -> Response:
    """Ask the password, so that nobody plants a key on a phone that was lent; then let the phone make the passkey."""
    form = Form({"name": texts.get("name", "")})
    try:
        place, name = _may_make(visit, texts)
    except EntryRefused as refused:
        return visit.refused(_page(visit, form.wrong(refused.field, str(refused))))
    question = visit.house.making.ask(visit.session_id, place, visit.now_at, name)
    with visit.looking() as db:
        held = [one.credential_id for one in passkeys.of_person(db, visit.person.id) if one.host == place.host]
    options = creation_options(question, visit.person, visit.household.dairy_name or "rindwatch", held)
    return visit.page(MakePasskeyPage("Make the passkey", name, json.dumps(options)))


def _may_make(visit: Visit, texts: Texts) -> tuple[PasskeyPlace, str]:
    place = here(visit)
    if place is None or not visit.session_id:
        raise EntryRefused("name", NOT_HERE)
    with visit.looking() as db:
        name = passkeys.checked_name(db, visit.person.id, texts.get("name", ""))
        kept_hash = db.execute(select(person.c.password_hash).where(person.c.id == visit.person.id)).scalar()
    if not visit.house.tries.take(visit.person.name, client_address(visit)):
        raise EntryRefused("password", TOO_OFTEN)
    if not is_right(texts.get("password", ""), kept_hash):
        raise EntryRefused("password", "That is not your password.")
    return place, name


@router.post(MAKING + "/keep", max_body_size=MAX_BYTES)
def keep(visit: Guest, texts: Texts) -> Response:
    place = here(visit)
    question = visit.house.making.take(visit.session_id, place, visit.now_at) if place else None
    try:
        if question is None:
            raise EntryRefused("name", TOO_LATE)
        new = passkey_answers.made(passkey_answers.read(texts.get("credential", "")), question)
        whose = (visit.person.id, visit.person.name)
        with visit.changing() as db:
            passkeys.add(db, whose, question.name, new, question.place.host, visit.now_at)
    except EntryRefused as refused:
        form = Form({"name": question.name if question else ""})
        return visit.refused(_page(visit, form.wrong("name", str(refused))))
    return visit.go(PATH, "Kept. From now on this phone can sign in without the password.")


@router.post(MAKING + "/{passkey_id}/remove")
def remove(visit: Guest, passkey_id: str) -> Response:
    with visit.changing() as db:
        name = passkeys.remove(db, visit.person.id, passkey_id, visit.person.name, visit.now_at)
    if name is None:
        raise HTTPException(404)
    return visit.go(PATH, f"{name} signs in no more.")
