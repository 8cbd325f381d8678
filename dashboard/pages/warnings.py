"""Warnings: what is the case, what was, what to do; right or false alarm in one touch."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import ClassVar, Literal

from fastapi import APIRouter, HTTPException
from sqlalchemy import Connection
from starlette.responses import Response

from collector.notify.known import Known, load_known
from collector.records import warnings as records
from collector.records.warnings import CaveWarning
from dashboard.navigation import Nav
from dashboard.paths import own_path
from dashboard.telling.quiet import HOURS, WHOM, Snoozed, covering, snoozed
from dashboard.visit import Guest, Helper, Texts, Visit
from dashboard.warnings.found import Lists, Sent, lists, messages, waiting
from dashboard.warnings.judged import Counted, OfferShown, offers_for, tally_shown
from dashboard.warnings.told import Told, told

router = APIRouter()
PATH, PART = "/warnings", "/warnings/part"
NAV = Nav("Warnings", PATH, "warnings", "more", 10, count=waiting)
SAID = {
    "opened": "told",
    "reminder": "told again",
    "over": "told when over",
    "cleared": "all-clear",
    "reopened": "told that it was not over",
    "withdrawn": "taken back",
}


@dataclass(frozen=True, slots=True)
class WarningsPart:
    template: ClassVar[str] = "warnings_part.html"
    open: tuple[Told, ...]
    cleared: tuple[Told, ...]
    withdrawn: tuple[Told, ...]
    more_cleared: int
    offers: tuple[OfferShown, ...]
    tally: tuple[Counted, ...]
    may_judge: bool


@dataclass(frozen=True, slots=True)
class WarningsPage:
    template: ClassVar[str] = "warnings.html"
    title: str
    part: WarningsPart
    path: str
    etag: str


@dataclass(frozen=True, slots=True)
class Message:
    """What went out about a warning: through which channel, what it said, when; `trouble` while it did not."""

    channel: str
    said: str
    sent_at: datetime | None
    trouble: str


@dataclass(frozen=True, slots=True)
class WarningPage:
    template: ClassVar[str] = "warning.html"
    title: str
    warning: Told
    messages: tuple[Message, ...]
    may_judge: bool
    snoozed: tuple[Snoozed, ...]
    snooze_hours: Mapping[str, str]
    snooze_whom: Mapping[str, str]


@router.get(PATH)
def warnings(visit: Guest) -> Response:
    with visit.looking() as db:
        found, known = lists(db, visit.now_at), load_known(db, visit.now_at)
        part = _part(visit, db, found, known)
    return visit.page(WarningsPage("Warnings", part, PART, visit.etag(_tag(visit, found))))


@router.get(PART)
def warnings_part(visit: Guest) -> Response:
    """The page's inside, asked for again while somebody looks."""
    with visit.looking() as db:
        found, known = lists(db, visit.now_at), load_known(db, visit.now_at)
        return visit.fragment(_tag(visit, found), lambda: _part(visit, db, found, known))


def _tag(visit: Visit, found: Lists) -> tuple[object, ...]:
    return (found, visit.now_at.date())


def _part(visit: Visit, db: Connection, found: Lists, known: Known) -> WarningsPart:
    def all_told(ones: tuple[CaveWarning, ...]) -> tuple[Told, ...]:
        return tuple(told(one, known, visit.now_at) for one in ones)

    return WarningsPart(
        all_told(found.open), all_told(found.cleared), all_told(found.withdrawn), found.more_cleared,
        offers_for(db, known, visit.household, visit.now_at), tally_shown(db, known, visit.now_at),
        visit.person.may("helper"),
    )  # fmt: skip


@router.get("/warnings/{warning_id}")
def one(visit: Guest, warning_id: str) -> Response:
    with visit.looking() as db:
        found = _found(db, warning_id)
        known = load_known(db, visit.now_at)
        sent = tuple(_message(row) for row in messages(db, warning_id))
        running = snoozed(db, known, visit.now_at, visit.person.id) if found.open else ()
    shown = told(found, known, visit.now_at)
    return visit.page(
        WarningPage(
            f"{shown.subject}: {shown.word}", shown, sent, visit.person.may("helper"),
            covering(running, found.rule, found.place_id, found.probe), HOURS, WHOM,
        )
    )  # fmt: skip


def _message(row: Sent) -> Message:
    return Message(row.channel, SAID.get(row.said, row.said), row.sent_at, row.trouble)


@router.post("/warnings/{warning_id}/seen")
def seen(visit: Helper, warning_id: str, texts: Texts) -> Response:
    """Somebody looks after it; the first who says so is kept."""
    with visit.changing() as db:
        _found(db, warning_id)
        records.mark_seen(db, warning_id, visit.person.name, visit.now_at)
    return visit.go(own_path(texts.get("back", ""), PATH), "Marked as seen.")


@router.post("/warnings/{warning_id}/{verdict}")
def judge(visit: Helper, warning_id: str, verdict: Literal["right", "false"], texts: Texts) -> Response:
    with visit.changing() as db:
        found = _found(db, warning_id)
        records.judge(db, warning_id, verdict, visit.person.name)
        if found.open:
            records.mark_seen(db, warning_id, visit.person.name, visit.now_at)
    said = "Noted: it was right." if verdict == "right" else "Noted: a false alarm."
    return visit.go(own_path(texts.get("back", ""), PATH), said)


def _found(db: Connection, warning_id: str) -> CaveWarning:
    found = records.one(db, warning_id)
    if found is None:
        raise HTTPException(404)
    return found
