"""The first page: on to the caves, or to what a first start still lacks."""

from fastapi import APIRouter
from starlette.responses import Response

from dashboard.first_start import is_open
from dashboard.visit import Guest

router = APIRouter()


@router.get("/")
def start(visit: Guest) -> Response:
    with visit.looking() as db:
        unfinished = visit.person.may("owner") and is_open(db)
    if unfinished:
        return visit.go("/begin")
    navs = [nav for nav in visit.request.app.state.navs if nav.place == "bar"]
    return visit.go(navs[0].path)
