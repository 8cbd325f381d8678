"""Who is told of a warning first, and who next when nobody has looked for an hour."""

from dataclasses import dataclass
from typing import ClassVar

from fastapi import APIRouter, HTTPException
from starlette.responses import Response

from collector.notify.away import load_away
from dashboard.pages.telling import PATH as TELLING
from dashboard.telling.duty import DutyList, duty_list, leave_out, put, shift
from dashboard.telling.ways import people
from dashboard.visit import Owner, Texts, Visit

router = APIRouter()
PATH = f"{TELLING}/duty"


@dataclass(frozen=True, slots=True)
class DutyPage:
    """The page. `standing_in`: who is on duty just now because somebody is away, "" for nobody."""

    template: ClassVar[str] = "duty.html"
    title: str
    duty: DutyList
    standing_in: str


@router.get(PATH)
def duty(visit: Owner) -> Response:
    return visit.page(_page(visit))


def _page(visit: Visit) -> DutyPage:
    with visit.looking() as db:
        away = load_away(db)
        held = away is not None and away.holds(visit.now_at, visit.household.zone)
        standing_in = people(db).get(away.person_id, "") if away is not None and held else ""
        return DutyPage("Who is told first", duty_list(db, visit.now_at), standing_in)


@router.post(PATH + "/{person_id}/put")
def put_in(visit: Owner, person_id: str) -> Response:
    with visit.changing() as db:
        if not put(db, person_id, visit.now_at):
            raise HTTPException(404)
    return visit.go(f"{PATH}#p-{person_id}")


@router.post(PATH + "/{person_id}/out")
def out(visit: Owner, person_id: str) -> Response:
    with visit.changing() as db:
        if not leave_out(db, person_id, visit.now_at):
            raise HTTPException(404)
        left = duty_list(db, visit.now_at).order
    said = "" if left else "Nobody is on duty now: everybody is told at once."
    return visit.go(PATH, said, undo=f"{PATH}/{person_id}/put")


@router.post(PATH + "/{person_id}/shift")
def move(visit: Owner, person_id: str, texts: Texts) -> Response:
    with visit.changing() as db:
        shift(db, person_id, -1 if texts.get("way") == "up" else 1, visit.now_at)
    return visit.go(f"{PATH}#p-{person_id}")
