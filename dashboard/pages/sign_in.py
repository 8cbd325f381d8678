"""Signing in and out."""

from dataclasses import dataclass
from datetime import datetime
from typing import ClassVar

from fastapi import APIRouter
from sqlalchemy import select
from starlette.responses import Response

from collector.records.tables import person
from dashboard.forms import Form
from dashboard.pages.passkeys import TOO_OFTEN, client_address, elsewhere, here
from dashboard.paths import own_path
from dashboard.people import cookie, passkeys, sessions
from dashboard.people.device import device_name
from dashboard.people.links import has_owner
from dashboard.people.passwords import is_right
from dashboard.people.person import OWNER_NAME
from dashboard.people.stays import access_of
from dashboard.telling.phones import end_phones
from dashboard.visit import Anyone, Guest, Texts, Visit

router = APIRouter()
WRONG = "Name and password do not belong together."


@dataclass(frozen=True, slots=True)
class SignInPage:
    """`passkey_here`: a passkey may be used; `passkey_at`: where, when not here; "" if nobody has one."""

    template: ClassVar[str] = "sign_in.html"
    title: str
    form: Form
    next: str
    out: str
    has_owner: bool
    passkey_here: bool
    passkey_at: str


@dataclass(frozen=True, slots=True)
class AccessPage:
    template: ClassVar[str] = "sign_in_access.html"
    title: str
    from_at: datetime | None
    to_at: datetime | None


def _page(visit: Visit, form: Form, after: str, out: str = "") -> SignInPage:
    place = here(visit)
    with visit.looking() as db:
        hosts, owned = passkeys.hosts(db), has_owner(db)
    passkey_here = place is not None and place.host in hosts
    passkey_at = elsewhere(visit) if hosts and place is None else ""
    return SignInPage("Sign in", form, after, out, owned, passkey_here, passkey_at)


@router.get("/sign-in")
def sign_in_form(visit: Anyone, next: str = "/", out: str = "") -> Response:
    after = own_path(next)
    if visit.person.id:
        return visit.go(after)
    with visit.looking() as db:
        is_usual = db.execute(select(person.c.id).where(person.c.name == OWNER_NAME)).first() is not None
    return visit.page(_page(visit, Form({"name": OWNER_NAME if is_usual else ""}), after, out))


@router.post("/sign-in")
def sign_in(visit: Anyone, texts: Texts) -> Response:
    name, after = texts.get("name", ""), own_path(texts.get("next", "/"))
    form = Form({"name": name})
    if not visit.house.tries.take(name, client_address(visit)):
        return visit.page(_page(visit, form.wrong("password", TOO_OFTEN), after), 429)
    person_id = _who_has(visit, name, texts.get("password", ""))
    if person_id is None:
        return visit.refused(_page(visit, form.wrong("password", WRONG), after))
    return begin(visit, person_id, after)


def _who_has(visit: Visit, name: str, password: str) -> str | None:
    """Whose name and password these are. A phone's keyboard begins a name as it likes, so small letters do for large
    ones where only one person can be meant."""
    name = name.strip()
    with visit.looking() as db:
        rows = db.execute(select(person.c.id, person.c.name, person.c.password_hash)).all()
    alike = [row for row in rows if row.name.casefold() == name.casefold()]
    row = next((row for row in alike if row.name == name), alike[0] if len(alike) == 1 else None)
    right = is_right(password, row.password_hash if row else None)
    return str(row.id) if row and right else None


def begin(visit: Visit, person_id: str, after: str) -> Response:
    """Sign this device in and go on; somebody whose days have not come, or are over, is told so."""
    with visit.looking() as db:
        access = access_of(db, person_id)
    if access.is_to_come(visit.now_at) or access.is_over(visit.now_at):
        return visit.page(AccessPage("Not on these days", access.from_at, access.to_at), 403)
    with visit.changing() as db:
        token = sessions.open_session(
            db, person_id, device_name(visit.request.headers.get("user-agent", "")), visit.now_at
        )
    answer = visit.go(after)
    cookie.give(answer, visit.request, token)
    return answer


@router.post("/sign-out")
def sign_out(visit: Guest) -> Response:
    with visit.changing() as db:
        sessions.end(db, visit.person.id, visit.session_id)
        told_no_more = end_phones(db, {visit.session_id}, visit.person.name, visit.now_at)
    answer = visit.go("/sign-in?out=told" if told_no_more else "/sign-in")
    cookie.take_back(answer, visit.request)
    return answer
