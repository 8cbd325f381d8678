"""The first start, step by step: password, household, https, phone."""

from dataclasses import dataclass
from typing import ClassVar

from fastapi import APIRouter
from starlette.responses import Response

from dashboard import first_start
from dashboard.https import kept
from dashboard.people import sessions
from dashboard.phone_steps import NAMES
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
        ticks = sessions.ticks(db, visit.session_id)
    has_certificate = kept.kept(visit.house.settings) is not None
    phone_done = {name for name, done in ticks.items() if done} >= NAMES
    steps = (
        Step("Choose a password", "So that nobody in the network reads or changes your caves.", "", True),
        Step("Say how you measure", "Degrees, weights, dates, time zone.", "/settings#household", household_done),
        Step(
            "Make the connection safe",
            "So that the phone works in the cellar without a signal, and warnings reach it.",
            "/settings/https",
            has_certificate,
        ),
        Step(
            "Set up your phone",
            "Open this page on the phone and go through its steps.",
            "/phone",
            phone_done,
        ),
    )
    return visit.page(BeginPage("First steps", steps))


@router.post("/begin/done")
def done(visit: Owner) -> Response:
    with visit.changing() as db:
        first_start.finish(db)
    return visit.go("/")
