"""The first start, step by step: password, household, https, phone."""

from dataclasses import dataclass
from typing import ClassVar

from fastapi import APIRouter
from starlette.responses import Response

from dashboard import first_start
from dashboard.visit import Owner

router = APIRouter()


@dataclass(frozen=True, slots=True)
class Step:
    words: str
    why: str
    path: str
    done: bool


@dataclass(frozen=True, slots=True)
class BeginPage:
    template: ClassVar[str] = "begin.html"
    title: str
    steps: tuple[Step, ...]


@router.get("/begin")
def begin(visit: Owner) -> Response:
    with visit.looking() as db:
        household_done = first_start.household_is_chosen(db)
    steps = (
        Step("Choose a password", "So that nobody in the network reads or changes your caves.", "", True),
        Step("Say how you measure", "Degrees, weights, dates, time zone.", "/settings#household", household_done),
    )
    return visit.page(BeginPage("First steps", steps))


@router.post("/begin/done")
def done(visit: Owner) -> Response:
    with visit.changing() as db:
        first_start.finish(db)
    return visit.go("/")
