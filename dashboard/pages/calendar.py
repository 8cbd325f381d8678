"""The calendar that a phone subscribes to: its secret address on a page, and the feed itself."""

from dataclasses import dataclass
from datetime import datetime
from typing import ClassVar

from fastapi import APIRouter, HTTPException
from sqlalchemy import Connection, select
from starlette.responses import Response

from dashboard.visit import Anyone, Helper, Visit
from dashboard.wheels import tables
from dashboard.wheels.calendar_feed import new_feed, revoke_feeds, who_of
from dashboard.wheels_shown.calendar_kept import kept_calendar

router = APIRouter()
PATH = "/settings/calendar"


@dataclass(frozen=True, slots=True)
class CalendarPage:
    """`address`: shown once, when it was made; only a fingerprint of it is kept."""

    template: ClassVar[str] = "calendar.html"
    title: str
    made_at: datetime | None
    fetched_at: datetime | None
    address: str = ""
    subscribe: str = ""


@router.get(PATH)
def calendar(visit: Helper) -> Response:
    return visit.page(_page(visit))


@router.post(PATH)
def make(visit: Helper) -> Response:
    """A new address. It is shown in the answer itself: nowhere else could it wait without being kept."""
    with visit.changing() as db:
        token = new_feed(db, visit.person.name, visit.now_at)
    return visit.page(_page(visit, f"{visit.base_address}/calendar/{token}.ics"))


@router.post(f"{PATH}/end")
def end(visit: Helper) -> Response:
    with visit.changing() as db:
        revoke_feeds(db, visit.person.name, visit.now_at)
    return visit.go(PATH, "That address leads nowhere now.")


def _page(visit: Visit, address: str = "") -> CalendarPage:
    with visit.looking() as db:
        made_at, fetched_at = _open_feed(db, visit.person.name)
    subscribe = "webcal://" + address.partition("://")[2] if address else ""
    return CalendarPage("Calendar", made_at, fetched_at, address, subscribe)


def _open_feed(db: Connection, who: str) -> tuple[datetime | None, datetime | None]:
    f = tables.feed.c
    row = db.execute(select(f.made_at, f.last_fetched_at).where(f.who == who, f.revoked_at.is_(None))).first()
    return (row.made_at, row.last_fetched_at) if row else (None, None)


@router.get("/calendar/{token}")
def feed(visit: Anyone, token: str) -> Response:
    """The feed (RFC 5545). Calendars cannot sign in, so the address itself is the secret."""
    with visit.changing() as db:
        if who_of(db, token.removesuffix(".ics"), visit.now_at) is None:
            raise HTTPException(404)
    with visit.looking() as db:
        text = kept_calendar(db, visit.now_at, visit.household, visit.base_address)
    headers = {"Cache-Control": "private, no-cache", "X-Robots-Tag": "noindex"}
    return Response(text, media_type="text/calendar; charset=utf-8", headers=headers)
