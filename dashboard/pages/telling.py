"""How warnings reach you: the ways out of the house, whether they work, and when not to be told."""

from dataclasses import dataclass
from typing import ClassVar

from fastapi import APIRouter, HTTPException
from sqlalchemy import Connection
from starlette.responses import Response

from collector.errors import EntryRefused
from collector.notify.channels import ChannelRow, change_channel, channel, remove_channel
from collector.notify.kinds import KINDS
from collector.notify.known import load_known
from collector.notify.making import Maker
from collector.notify.trying import send_test
from collector.notify.wishes import duty_order, end_snooze, keep_quiet_hours, keep_snooze, wishes_of
from collector.records import warnings as records
from dashboard.forms import Form
from dashboard.navigation import Nav
from dashboard.paths import own_path
from dashboard.telling.adding import WAYS, Sort
from dashboard.telling.phones import BY_HAND
from dashboard.telling.quiet import Snoozed, quiet_form, read_quiet, read_snooze, snoozed
from dashboard.telling.ways import Missed, Way, missed, people, ways
from dashboard.visit import Helper, Owner, Texts, Visit
from dashboard.words import moment

router = APIRouter()
PATH = "/settings/warnings"
NAV = Nav("How warnings reach you", PATH, "phone", "more", 12, role="helper")


@dataclass(frozen=True, slots=True)
class TellingPage:
    """The page.

    Args:
        ways: the channels that warn, empty for all but the owner. heartbeats: those who notice our death.
        reached: whether any way to people is on.
    """

    template: ClassVar[str] = "telling.html"
    title: str
    reached: bool
    ways: tuple[Way, ...]
    heartbeats: tuple[Way, ...]
    sorts: tuple[Sort, ...]
    missed: tuple[Missed, ...]
    quiet: Form
    has_quiet_hours: bool
    snoozed: tuple[Snoozed, ...]
    may_change: bool
    duty_words: str
    push_leaves_house: str
    heartbeat_leaves_house: str


def _page(visit: Visit, quiet: Form | None = None) -> TellingPage:
    is_owner = visit.person.may("owner")
    with visit.looking() as db:
        everything = ways(db)
        wishes = wishes_of(db, visit.person.id or None, visit.now_at)
        known = load_known(db, visit.now_at)
        return TellingPage(
            "How warnings reach you",
            any(way.is_on and KINDS[way.kind].tells_people for way in everything),
            tuple(way for way in everything if is_owner and KINDS[way.kind].takes_warnings),
            tuple(way for way in everything if is_owner and not KINDS[way.kind].takes_warnings),
            WAYS if is_owner else (),
            missed(db, visit.now_at) if is_owner else (),
            quiet or quiet_form(wishes.quiet),
            bool(visit.person.id),
            snoozed(db, known, visit.now_at, visit.person.id),
            is_owner,
            _duty_words(db, visit) if is_owner else "",
            KINDS["push"].leaves_house,
            KINDS["heartbeat"].leaves_house,
        )


def _duty_words(db: Connection, visit: Visit) -> str:
    names, order = people(db), duty_order(db, visit.now_at)
    if len(order) < 2:
        return f"{names[order[0]]}" if order else "Everybody at once"
    return f"{names[order[0]]}, then {', '.join(names[one] for one in order[1:])} after an unseen hour"


@router.get(PATH)
def telling(visit: Helper) -> Response:
    return visit.page(_page(visit))


@router.post(PATH + "/ways/{way_id}/test")
def try_way(visit: Owner, way_id: str) -> Response:
    """Send a test at once; a way that hangs ends by its own deadline."""
    with visit.looking() as db:
        way = _way(db, way_id)
    house = visit.house
    tried = send_test(house.engine, way_id, Maker(house.settings), house.clock)
    if tried.worked:
        return visit.go(f"{PATH}#way-{way_id}", f"A test was sent on {way.name}. Look whether it came.")
    return visit.go(f"{PATH}#way-{way_id}", f"The test on {way.name} did not go out: {tried.reason}.")


@router.post(PATH + "/ways/{way_id}/pause")
def pause_way(visit: Owner, way_id: str) -> Response:
    return _switch(visit, way_id, False, "is switched off; warnings do not go there")


@router.post(PATH + "/ways/{way_id}/resume")
def resume_way(visit: Owner, way_id: str) -> Response:
    return _switch(visit, way_id, True, "is switched on again")


def _switch(visit: Visit, way_id: str, is_on: bool, said: str) -> Response:
    with visit.changing() as db:
        way = _way(db, way_id)
        change_channel(db, way_id, is_on=is_on)
    return visit.go(f"{PATH}#way-{way_id}", f"{way.name} {said}.")


@router.post(PATH + "/ways/{way_id}/remove")
def remove_way(visit: Owner, way_id: str) -> Response:
    with visit.changing() as db:
        way = _way(db, way_id)
        remove_channel(db, way_id, f"{BY_HAND}{visit.person.name}", visit.now_at)
    return visit.go(PATH, f"{way.name} is removed, its address and secret with it.")


def _way(db: Connection, way_id: str) -> ChannelRow:
    found = channel(db, way_id)
    if found is None or found.removed_at is not None:
        raise HTTPException(404)
    return found


@router.post(PATH + "/quiet")
def keep_quiet(visit: Helper, texts: Texts) -> Response:
    """One's own quiet hours."""
    if not visit.person.id:
        raise HTTPException(403)
    try:
        quiet = read_quiet(texts)
    except EntryRefused as refused:
        return visit.refused(_page(visit, Form(texts).wrong(refused.field, str(refused))))
    with visit.changing() as db:
        keep_quiet_hours(db, visit.person.id, quiet)
    return visit.go(f"{PATH}#quiet", "Saved." if quiet else "Quiet hours are switched off.")


@router.post("/snoozes/on/{warning_id}")
def snooze(visit: Helper, warning_id: str, texts: Texts) -> Response:
    """Say nothing more of a warning's problem for a while."""
    until_at, person_id = read_snooze(texts, visit.now_at, visit.person.id)
    with visit.changing() as db:
        about = records.one(db, warning_id)
        if about is None:
            raise HTTPException(404)
        snooze_id = keep_snooze(db, about, until_at, visit.now_at, by=visit.person.name, person_id=person_id)
    said = f"Nothing more of it until {moment(until_at, visit.now_at, visit.household)}."
    return visit.go(own_path(texts.get("back", ""), "/warnings"), said, f"/snoozes/{snooze_id}/end")


@router.post("/snoozes/{snooze_id}/end")
def wake(visit: Helper, snooze_id: str, texts: Texts) -> Response:
    """End a snooze before its time; another person's own one is not ours to end."""
    with visit.changing() as db:
        known = load_known(db, visit.now_at)
        if snooze_id not in {one.id for one in snoozed(db, known, visit.now_at, visit.person.id)}:
            raise HTTPException(404)
        end_snooze(db, snooze_id, visit.now_at)
    return visit.go(own_path(texts.get("back", ""), f"{PATH}#snoozed"), "You will be told of it again.")
