"""Programs: tokens with which they use the API, made and ended here, with their last use."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import ClassVar

from fastapi import APIRouter, HTTPException
from starlette.responses import Response

from collector.errors import EntryRefused
from dashboard.forms import Form
from dashboard.people import tokens
from dashboard.people.tokens import WHAT, Token
from dashboard.visit import Owner, Texts, Visit

router = APIRouter()
PATH = "/settings/programs"


@dataclass(frozen=True, slots=True)
class ProgramsPage:
    """`made`: a new token, shown in this answer and nowhere else, since only its digest is kept."""

    template: ClassVar[str] = "tokens.html"
    title: str
    tokens: Sequence[Token]
    form: Form
    scopes: Mapping[str, str]
    address: str
    made: str = ""


@router.get(PATH)
def programs(visit: Owner) -> Response:
    return visit.page(_page(visit, Form({"read": "yes"})))


def _page(visit: Visit, form: Form, made: str = "") -> ProgramsPage:
    with visit.looking() as db:
        held = [token for token in tokens.tokens(db) if token.ended_at is None]
    return ProgramsPage("Programs", held, form, WHAT, visit.base_address, made)  # type: ignore[arg-type]


@router.post(PATH)
def make(visit: Owner, texts: Texts) -> Response:
    scopes = {name for name in WHAT if texts.get(name)}
    try:
        with visit.changing() as db:
            made = tokens.make(
                db, texts.get("name", ""), scopes, texts.get("probe", ""), visit.person.name, visit.now_at
            )  # fmt: skip
    except EntryRefused as refused:
        return visit.refused(_page(visit, Form(texts).wrong(refused.field, str(refused))))
    return visit.page(_page(visit, Form({"read": "yes"}), made))


@router.post(PATH + "/{token_id}/end")
def end(visit: Owner, token_id: str) -> Response:
    with visit.changing() as db:
        name = tokens.end(db, token_id, visit.person.name, visit.now_at)
    if name is None:
        raise HTTPException(404)
    return visit.go(PATH, f"{name} is let in no more.")
