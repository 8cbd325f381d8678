"""One request by one person: what a page may ask for and how it answers."""

import hashlib
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property
from typing import Annotated, Any, ClassVar, Protocol

from fastapi import Depends, HTTPException, Request
from sqlalchemy import Connection
from starlette.responses import HTMLResponse, RedirectResponse, Response

from collector.errors import SchemaMissing
from collector.readings.reader import Readings
from collector.records.engine import reading
from dashboard import words
from dashboard.house import House, Note
from dashboard.household import Household
from dashboard.household_kept import load
from dashboard.navigation import Link, links
from dashboard.people.cookie import is_https
from dashboard.people.person import Person, Role, Who

NOBODY = Person("", "", "anyone")


class Shown(Protocol):
    """A page's context: a frozen dataclass that names its template."""

    template: ClassVar[str]


@dataclass(frozen=True, slots=True)
class Frame:
    """What stands round every page; `page` in a template is the page's own context, `frame` is this."""

    now_at: datetime
    person: Person
    path: str
    is_https: bool
    bar: tuple[Link, ...] = ()
    more: tuple[Link, ...] = ()
    note: Note | None = None


class Visit:
    """A request that passed its rule. Times are taken once, so that a page agrees with itself."""

    def __init__(self, request: Request, who: Who | None) -> None:
        self.request = request
        self.house: House = request.app.state.house
        self.person = who.person if who else NOBODY
        self.session_id = who.session_id if who else ""
        self.now_at = self.house.clock.now()
        self._opened: Readings | None = None

    @cached_property
    def household(self) -> Household:
        with self.looking() as db:
            return load(db)

    @property
    def readings(self) -> Readings | None:
        """The readings, opened at the first asking; None before the first start has prepared them."""
        if self._opened is None:
            try:
                self._opened = Readings(self.house.settings.readings_path, self.house.older)
            except SchemaMissing:
                return None
        return self._opened

    @contextmanager
    def looking(self) -> Iterator[Connection]:
        """A short transaction on the records that only looks."""
        with reading(self.house.engine) as db:
            yield db

    @contextmanager
    def changing(self) -> Iterator[Connection]:
        """A short transaction on the records; all of it is kept, or nothing when an error passes through."""
        with self.house.engine.begin() as db:
            yield db

    def close(self) -> None:
        if self._opened is not None:
            self._opened.close()

    @property
    def base_address(self) -> str:
        """What phones call this machine, for QR codes and links that outlive this request."""
        chosen = self.household.base_address or self.house.own.base_address
        doors = self.house.doors
        return chosen or doors.https or doors.http or str(self.request.base_url).rstrip("/")

    def page(self, context: Shown, status: int = 200) -> HTMLResponse:
        """A whole page."""
        html = self.house.templates.render(context.template, self.household, page=context, frame=self.frame())
        return HTMLResponse(html, status, headers={"Cache-Control": "no-store"})

    def refused(self, context: Shown) -> HTMLResponse:
        """A form again, with what was typed and why it was not taken."""
        return self.page(context, 422)

    def go(self, path: str, note: str = "", undo: str = "") -> RedirectResponse:
        """After a change: on to a page, which shows the note once; `undo` is an own path to post to."""
        if note:
            self.house.notes.leave(self.session_id, Note(note, undo))
        return RedirectResponse(path, 303)

    def fragment(self, tag: Sequence[object], build: Callable[[], Shown]) -> Response:
        """A part of a page that asks for itself again: nothing is built while its tag is the one the phone has.

        Args:
            tag: whatever the part depends on, like `visit.readings.newest_change()`.
            build: makes the part's context.
        """
        etag = self.etag(tag)
        as_of = words.clock_time(self.now_at, self.household)
        headers = {"ETag": etag, "Cache-Control": "private, no-cache", "X-As-Of": as_of}
        if etag in self.request.headers.get("if-none-match", ""):
            return Response(status_code=304, headers=headers)
        context = build()
        frame = Frame(self.now_at, self.person, self.request.url.path, is_https(self.request))
        html = self.house.templates.render(context.template, self.household, page=context, frame=frame)
        return HTMLResponse(html, headers=headers)

    def etag(self, tag: Sequence[object]) -> str:
        """A weak ETag of what a part depends on; who looks and how the household wants it belong to it."""
        everything = repr((*tag, self.household, self.person.role))
        return f'W/"{hashlib.sha256(everything.encode()).hexdigest()[:20]}"'

    def frame(self) -> Frame:
        """What stands round the page now; it takes the waiting note with it."""
        path = self.request.url.path
        if self.person is NOBODY:
            return Frame(self.now_at, NOBODY, path, is_https(self.request))
        navs = self.request.app.state.navs
        with self.looking() as db:
            bar, more = (links(navs, place, self.person, path, db) for place in ("bar", "more"))
        # A phone that fetches a page to keep it shows it to nobody; plain http does not tell, and keeps none.
        shown = self.request.headers.get("sec-fetch-mode", "navigate") == "navigate"
        note = self.house.notes.take(self.session_id) if shown else None
        return Frame(self.now_at, self.person, path, is_https(self.request), bar, more, note)


class Rule:
    """Who may use a route. Every route carries exactly one; a test walks them all."""

    def __init__(self, role: Role) -> None:
        self.role = role

    def __call__(self, request: Request) -> Iterator[Visit]:
        who: Who | None = request.state.who
        if self.role != "anyone":
            if who is None:
                raise HTTPException(401)
            if not who.person.may(self.role):
                raise HTTPException(403)
        visit = Visit(request, who)
        try:
            yield visit
        finally:
            visit.close()


def allow(role: Role) -> Any:
    """The rule of a route, for `dependencies=[allow("owner")]`."""
    return Depends(Rule(role))


# For a handler's first parameter: the rule and the visit in one.
Anyone = Annotated[Visit, Depends(Rule("anyone"))]
Guest = Annotated[Visit, Depends(Rule("guest"))]
Helper = Annotated[Visit, Depends(Rule("helper"))]
Owner = Annotated[Visit, Depends(Rule("owner"))]


async def form_texts(request: Request) -> dict[str, str]:
    """The texts of a posted form; of several of one name the last."""
    form = await request.form()
    return {name: value for name, value in form.multi_items() if isinstance(value, str)}


Texts = Annotated[dict[str, str], Depends(form_texts)]
