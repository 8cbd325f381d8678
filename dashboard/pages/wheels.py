"""Wheels: the living ones shelf by shelf, the finished ones on a list of their own, and finding among both."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import ClassVar, get_args

from fastapi import APIRouter
from starlette.responses import Response

from dashboard.forms import Form
from dashboard.navigation import Nav
from dashboard.rounds.row_words import style_word
from dashboard.rounds.shelves import look
from dashboard.visit import Guest, Visit
from dashboard.wheels.bodies.make import Species
from dashboard.wheels.book import Style
from dashboard.wheels_shown.finding import Wanted, wanted
from dashboard.wheels_shown.listing import Line, Shelf, finished, shelves

router = APIRouter()
PATH, FINISHED = "/wheels", "/wheels/finished"
NAV = Nav("Wheels", PATH, "wheels", "bar", 30)
MOST_FINISHED = 200
ANY = {"": "any"}


@dataclass(frozen=True, slots=True)
class Search:
    """The search as it stands, and what can be chosen in it."""

    form: Form
    path: str
    styles: Mapping[str, str]
    milks: Mapping[str, str]
    asked: bool


@dataclass(frozen=True, slots=True)
class WheelsPage:
    template: ClassVar[str] = "wheels.html"
    title: str
    search: Search
    shelves: tuple[Shelf, ...]
    count: int
    due: int
    may_change: bool


@dataclass(frozen=True, slots=True)
class FinishedPage:
    template: ClassVar[str] = "wheels_finished.html"
    title: str
    search: Search
    lines: tuple[Line, ...]
    more: int


@router.get(PATH)
def living(visit: Guest) -> Response:
    asked = wanted(visit.request.query_params)
    with visit.looking() as db:
        looked = look(db, visit.now_at, visit.household)
        found = shelves(db, looked, asked)
    count, due = sum(len(shelf.lines) for shelf in found), sum(shelf.due for shelf in found)
    search = _search(visit, PATH, looked.styles, asked)
    return visit.page(WheelsPage("Wheels", search, tuple(found), count, due, visit.person.may("helper")))


@router.get(FINISHED)
def ended(visit: Guest) -> Response:
    asked = wanted(visit.request.query_params)
    with visit.looking() as db:
        looked = look(db, visit.now_at, visit.household)
        found, more = finished(db, looked, asked, MOST_FINISHED)
    search = _search(visit, FINISHED, looked.styles, asked)
    return visit.page(FinishedPage("Finished wheels", search, tuple(found), more))


def _search(visit: Visit, path: str, styles: Mapping[str, Style], asked: Wanted) -> Search:
    names = {**ANY, **{id_: style_word(style) for id_, style in styles.items()}}
    milks = {**ANY, **{name: name for name in get_args(Species)}}
    return Search(Form(dict(visit.request.query_params)), path, names, milks, asked.anything)
