"""What has no room at the bottom of the page."""

from dataclasses import dataclass
from typing import ClassVar

from fastapi import APIRouter
from starlette.responses import Response

from dashboard.navigation import MORE, Nav
from dashboard.visit import Guest

router = APIRouter()
NAV = Nav("More", MORE, "more", "bar", 90)


@dataclass(frozen=True, slots=True)
class MorePage:
    template: ClassVar[str] = "more.html"
    title: str = "More"


@router.get(MORE)
def more(visit: Guest) -> Response:
    return visit.page(MorePage())
