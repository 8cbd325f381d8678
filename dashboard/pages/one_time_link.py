"""Setting a password by the one-time link that was printed on the machine."""

from dataclasses import dataclass
from typing import ClassVar

from fastapi import APIRouter
from sqlalchemy.exc import IntegrityError
from starlette.responses import Response

from collector.errors import EntryRefused
from dashboard.forms import Form
from dashboard.pages.sign_in import begin
from dashboard.people import links
from dashboard.people.passwords import SHORTEST, check_new, hash_password
from dashboard.visit import Anyone, Texts, Visit

router = APIRouter()
LONGEST_NAME = 80


@dataclass(frozen=True, slots=True)
class FirstPage:
    template: ClassVar[str] = "one_time_link.html"
    title: str
    form: Form
    shortest: int


@dataclass(frozen=True, slots=True)
class LinkEndedPage:
    template: ClassVar[str] = "one_time_link_ended.html"
    title: str = "This link is used up or too old"


@router.get("/first/{token}")
def first_form(visit: Anyone, token: str) -> Response:
    with visit.looking() as db:
        found = links.whose(db, token, visit.now_at)
    if found is None:
        return visit.page(LinkEndedPage(), 410)
    return visit.page(FirstPage("Choose a password", Form({"name": found.name}), SHORTEST))


@router.post("/first/{token}")
def first(visit: Anyone, token: str, texts: Texts) -> Response:
    with visit.looking() as db:
        if links.whose(db, token, visit.now_at) is None:
            return visit.page(LinkEndedPage(), 410)
    form = Form({"name": texts.get("name", "").strip()})
    try:
        password = _checked(form, texts)
        return _set(visit, token, form.text("name"), password)
    except EntryRefused as refused:
        return visit.refused(FirstPage("Choose a password", form.wrong(refused.field, str(refused)), SHORTEST))


def _checked(form: Form, texts: dict[str, str]) -> str:
    if not 0 < len(form.text("name")) <= LONGEST_NAME:
        raise EntryRefused("name", f"Take 1 to {LONGEST_NAME} characters as your name.")
    password = texts.get("password", "")
    check_new(password)
    if texts.get("again", "") != password:
        raise EntryRefused("again", "The two passwords are not the same.")
    return password


def _set(visit: Visit, token: str, name: str, password: str) -> Response:
    password_hash = hash_password(password)
    try:
        with visit.changing() as db:
            person = links.use(db, token, name, password_hash, visit.now_at)
    except IntegrityError as error:
        raise EntryRefused("name", "Somebody here has that name already; take another.") from error
    if person is None:
        return visit.page(LinkEndedPage(), 410)
    return begin(visit, person.id, "/")
