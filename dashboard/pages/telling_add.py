"""A new way for warnings: what leaves the house by it, then what it needs."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import ClassVar

from fastapi import APIRouter, HTTPException
from starlette.responses import Response

from collector.errors import EntryRefused
from collector.notify.channels import add_channel
from collector.notify.making import Maker
from collector.notify.trying import send_test
from dashboard import first_start
from dashboard.forms import Form
from dashboard.pages.telling import PATH
from dashboard.telling.adding import BY_PATH, HOUSE, NAMED, SAFETY, Field, Sort, read
from dashboard.telling.ways import LEAST, people
from dashboard.visit import Owner, Texts, Visit

router = APIRouter()


@dataclass(frozen=True, slots=True)
class AddPage:
    template: ClassVar[str] = "telling_add.html"
    title: str
    sort: Sort
    fields: tuple[Field, ...]
    form: Form
    action: str
    whose: Mapping[str, str]
    least: Mapping[str, str]
    safety: Mapping[str, str]


def _page(sort: Sort, form: Form, names: Mapping[str, str]) -> AddPage:
    whose = {HOUSE: "The whole house"} | dict(names)
    return AddPage(
        sort.title, sort, (*sort.fields, NAMED), form, f"{PATH}/add/{sort.path}",
        whose if sort.tells_people else {}, LEAST if sort.takes_warnings else {},
        SAFETY if sort.path == "email" else {},
    )  # fmt: skip


def _sort(path: str) -> Sort:
    if path not in BY_PATH:
        raise HTTPException(404)
    return BY_PATH[path]


def _names(visit: Visit) -> dict[str, str]:
    with visit.looking() as db:
        return people(db)


@router.get(PATH + "/add/{path}")
def ask(visit: Owner, path: str) -> Response:
    begun = Form({"whose": HOUSE, "least": "warn", "safety": "starttls"})
    return visit.page(_page(_sort(path), begun, _names(visit)))


@router.post(PATH + "/add/{path}")
def add(visit: Owner, path: str, texts: Texts) -> Response:
    sort, names = _sort(path), _names(visit)
    try:
        chosen = read(sort, texts, names)
    except EntryRefused as refused:
        return visit.refused(_page(sort, Form(texts).wrong(refused.field, str(refused)), names))
    with visit.changing() as db:
        way_id = add_channel(
            db, sort.kind, chosen.name, chosen.options, visit.now_at, person_id=chosen.person_id, least=chosen.least
        )
    if sort.path == "heartbeat":
        return _beaten(visit, way_id, chosen.name)
    return visit.go(f"{PATH}#way-{way_id}", _said(chosen.name, chosen.options))


def _beaten(visit: Visit, way_id: str, name: str) -> Response:
    """A first beat at once: an address that nobody calls would be believed until the day that it matters."""
    tried = send_test(visit.house.engine, way_id, Maker(visit.house.settings), visit.house.clock)
    with visit.looking() as db:
        onward = "/begin" if first_start.is_open(db) else f"{PATH}#way-{way_id}"
    answer = "it answered a first call" if tried.worked else f"it did not answer: {tried.reason}"
    return visit.go(onward, f"{name} is kept, and {answer}.")


def _said(name: str, options: Mapping[str, str]) -> str:
    secret = options.get("secret")
    if secret is None:
        return f"{name} is kept. Send a test now."
    return f"{name} is kept. The secret of its signature, shown only this once: {secret}"
