"""The timer to the next step of a make: started and stopped; what rings is static/timer.js, on the phone."""

from datetime import datetime, timedelta

from fastapi import APIRouter
from starlette.responses import Response

from collector.errors import EntryRefused
from dashboard import words
from dashboard.forms import of_field
from dashboard.pages.makes import found_make
from dashboard.paths import own_path
from dashboard.rounds.entering import sheet_of
from dashboard.rounds.posted import store
from dashboard.rounds.typed import Asked
from dashboard.visit import Helper, Texts
from dashboard.wheels.measures import parse_minutes

router = APIRouter()
OWN, STOP = "own", "stop"
LONGEST_MIN = 7 * 24 * 60.0  # a week: what takes longer is a day of the calendar; our choice
STEP = "The next step"


@router.post("/makes/{make_id}/timer")
def timer(visit: Helper, make_id: str, texts: Texts) -> Response:
    """Start it over so many minutes from now, or stop it; one that runs already is replaced."""
    found_make(visit, make_id)
    back = own_path(texts.get("back", ""), f"/makes/{make_id}")
    asked = Asked(texts, visit.household, visit.now_at)
    try:
        step, due_at = _asked_for(asked)
        sheet = sheet_of(asked, "timer", make_id)
    except EntryRefused as refused:
        return visit.go(back, f"Not started: {refused}")
    body = {"kind": "make", "next_step": step, "next_at": due_at.isoformat() if due_at else None}
    store(visit, [sheet.entry(body, make_id, make_id=make_id)])
    said = f"{step}: at {words.clock_time(due_at, visit.household)}." if due_at else "The timer is stopped."
    return visit.go(back, said, undo=f"/round/undo/{sheet.group_id}?back={back}")


def _asked_for(asked: Asked) -> tuple[str, datetime | None]:
    """The step and when it is due; "" and None to stop."""
    if asked.text("minutes") == STOP:
        return "", None
    field = "own_minutes" if asked.text("minutes") in {"", OWN} else "minutes"
    try:
        minutes = parse_minutes(asked.text(field))
    except EntryRefused as refused:
        raise of_field(field, refused) from refused
    if not 0 < minutes <= LONGEST_MIN:
        raise EntryRefused(field, f"The time must be above 0 and at most 7 days, got {asked.text(field)[:20]}.")
    return asked.text("step")[:120] or STEP, asked.now_at + timedelta(minutes=minutes)
