"""The first start, step by step: password, household, https, phone, and who notices when this machine is dead."""

from dataclasses import dataclass
from typing import ClassVar

from fastapi import APIRouter
from sqlalchemy import Connection
from starlette.responses import Response

from collector.notify.channels import channels
from dashboard import first_start
from dashboard.https import kept
from dashboard.pages.telling import PATH as TELLING
from dashboard.people import sessions
from dashboard.phone_steps import NAMES
from dashboard.visit import Owner

router = APIRouter()


@dataclass(frozen=True, slots=True)
class Step:
    """One step.

    Args:
        act: what its button says, "" for the step's own words.
        later: an own path to post to that puts it off, "" where it only waits.
    """

    words: str
    why: str
    path: str
    done: bool
    act: str = ""
    later: str = ""
    is_put_off: bool = False


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
        heartbeat = _heartbeat_step(db)
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
        heartbeat,
    )
    return visit.page(BeginPage("First steps", steps))


def _heartbeat_step(db: Connection) -> Step:
    """Ticked off once an address has answered; until then it can be put off."""
    rows = [row for row in channels(db) if row.kind == "heartbeat" and row.is_on]
    untried = next((row for row in rows if row.worked_at is None or row.failing_since_at is not None), None)
    why = (
        "Without power or internet nothing here can warn you: a service outside notices when this machine falls silent."
    )
    if untried is not None:
        trouble = f": {untried.trouble}" if untried.trouble else ""
        why = f"The address did not answer yet{trouble}. Look at it and test it."
    act = "Test it" if untried else "Name a service"
    return Step(
        "Who tells you when this machine itself is dead?", why,
        f"{TELLING}#way-{untried.id}" if untried else f"{TELLING}/add/heartbeat",
        bool(rows) and untried is None, act, "/begin/heartbeat-later", first_start.is_put_off(db, "heartbeat"),
    )  # fmt: skip


@router.post("/begin/heartbeat-later")
def heartbeat_later(visit: Owner) -> Response:
    with visit.changing() as db:
        first_start.put_off(db, "heartbeat")
    return visit.go("/begin", "Put off. It stands under How warnings reach you.")


@router.post("/begin/done")
def done(visit: Owner) -> Response:
    with visit.changing() as db:
        first_start.finish(db)
    return visit.go("/")
