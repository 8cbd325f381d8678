"""What waits on this phone: filled in by script from the phone's own store, so it opens without a signal."""

from dataclasses import dataclass
from typing import ClassVar

from fastapi import APIRouter
from starlette.responses import Response

from dashboard.navigation import Nav
from dashboard.visit import Guest
from dashboard.worker import WAITING_PAGE

router = APIRouter()
NAV = Nav("What waits on this phone", WAITING_PAGE, "phone", "more", 78)


@dataclass(frozen=True, slots=True)
class WaitingPage:
    template: ClassVar[str] = "waiting.html"
    title: str = "On this phone"


@router.get(WAITING_PAGE)
def waiting(visit: Guest) -> Response:
    return visit.page(WaitingPage())
