"""Away: some days with somebody else on duty, a one-time link for them, and the sheet that is left on the table."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import ClassVar

from fastapi import APIRouter, HTTPException
from sqlalchemy import Connection
from starlette.responses import Response

from collector.errors import EntryRefused
from collector.notify.away import Away, load_away
from collector.notify.channels import channels
from collector.notify.evening import ways_to
from dashboard import words
from dashboard.away.days import ShelfDay, ShelfPlan, shelf_plans
from dashboard.away.planning import NEW, come_back, form_of, keep, read
from dashboard.forms import Form
from dashboard.navigation import Nav
from dashboard.pages.link_shown import LinkShown, link_shown
from dashboard.people.changes import days_of, note
from dashboard.people.links import AT_MOST, issue_link
from dashboard.people.stays import access_of
from dashboard.rounds.gathered import gathered
from dashboard.rounds.shelves import look
from dashboard.telling.duty import duty_list, own_ways
from dashboard.telling.ways import people
from dashboard.visit import Helper, Owner, Texts, Visit
from dashboard.wheels.photos import photos_of
from dashboard.wheels.shelf_photos import newest_pictures

router = APIRouter()
PATH = "/away"
NAV = Nav("Away", PATH, "people", "more", 60, role="helper")


@dataclass(frozen=True, slots=True)
class Plan:
    """The plan as it is shown.

    Args:
        state: "to come", "now" or "over". on_duty, away: names. told: ways on which the one on duty is told.
        house_told: ways of the whole house, which get every warning whoever is on duty.
        evening: when the line of the day comes. evening_ways: names of the ways that carry it.
        limited: whether the access of the one on duty begins and ends with these days.
    """

    from_on: date
    to_on: date
    state: str
    on_duty: str
    away: str
    told: tuple[str, ...]
    house_told: tuple[str, ...]
    evening: str
    evening_ways: tuple[str, ...]
    limited: bool
    call: str
    words: str


@dataclass(frozen=True, slots=True)
class AwayPage:
    template: ClassVar[str] = "away.html"
    title: str
    plan: Plan | None
    form: Form
    choices: Mapping[str, str]
    may_change: bool


@dataclass(frozen=True, slots=True)
class LinkPage:
    template: ClassVar[str] = "away_link.html"
    title: str
    name: str
    link: LinkShown
    good_until: datetime
    from_on: date


@dataclass(frozen=True, slots=True)
class DayLines:
    """One day: each shelf that asks for something, by name, and what."""

    on: date
    shelves: Sequence[tuple[str, ShelfDay]]


@dataclass(frozen=True, slots=True)
class SheetPage:
    template: ClassVar[str] = "away_sheet.html"
    title: str
    plan: Plan
    days: Sequence[DayLines]
    shelves: Sequence[ShelfPlan]
    photos: Mapping[str, str]


@router.get(PATH)
def away(visit: Helper) -> Response:
    with visit.looking() as db:
        form = form_of(load_away(db), words.local(visit.now_at, visit.household).date())
    return visit.page(_page(visit, form))


def _page(visit: Visit, form: Form) -> AwayPage:
    with visit.looking() as db:
        plan, choices = _plan(visit, db), _choices(visit, db)
    return AwayPage("Away", plan, form, {NEW: "Somebody new"} | choices, visit.person.may("owner"))


def _choices(visit: Visit, db: Connection) -> dict[str, str]:
    """Who may stand in: everybody who may do the round, but not the one who goes."""
    duty = duty_list(db, visit.now_at)
    return {one.id: one.name for one in (*duty.order, *duty.others) if one.id != visit.person.id}


def _plan(visit: Visit, db: Connection) -> Plan | None:
    kept = load_away(db)
    if kept is None:
        return None
    zone, names, rows = visit.household.zone, people(db), channels(db)
    is_over = kept.to_at(zone) <= visit.now_at
    state = "over" if is_over else "now" if kept.holds(visit.now_at, zone) else "to come"
    return Plan(
        kept.from_on, kept.to_on, state, names.get(kept.person_id, "somebody no longer known"),
        names.get(kept.away_id, "the owner"), own_ways(rows, kept.person_id),
        own_ways(rows, None),
        words.clock_time(kept.evening_at(kept.from_on, zone), visit.household),
        tuple(row.name for row in ways_to(db, kept.away_id)),
        access_of(db, kept.person_id).to_at is not None, kept.call, kept.words,
    )  # fmt: skip


@router.post(PATH)
def plan(visit: Owner, texts: Texts) -> Response:
    """Keep the plan; its line goes to the one who makes it."""
    try:
        with visit.looking() as db:
            asked = read(texts, _choices(visit, db), visit.household, visit.now_at)
        with visit.changing() as db:
            kept = keep(db, asked, visit.person.id, visit.household, visit.now_at)
            note(db, kept.person_id, "away", visit.person.name, visit.now_at, days_of(asked.from_on, asked.to_on))
    except EntryRefused as refused:
        return visit.refused(_page(visit, Form(texts).wrong(refused.field, str(refused))))
    return visit.go(PATH, "Kept.")


@router.post(PATH + "/back")
def back(visit: Owner) -> Response:
    with visit.changing() as db:
        kept = load_away(db)
        come_back(db, visit.now_at)
        if kept is not None:
            note(db, kept.person_id, "back", visit.person.name, visit.now_at)
    return visit.go(PATH, "Welcome back. Warnings come in the usual order again.")


@router.post(PATH + "/link")
def link(visit: Owner) -> Response:
    """A new one-time link for the one on duty; it stands on this page and nowhere else."""
    kept = _kept(visit)
    with visit.looking() as db:
        name = people(db).get(kept.person_id)
    if name is None:
        raise HTTPException(404)
    until_at = kept.to_at(visit.household.zone)
    path = issue_link(visit.house.engine, visit.house.clock, kept.person_id, until_at, visit.person.name)
    good_until = min(until_at, visit.now_at + AT_MOST)
    return visit.page(LinkPage(f"Link for {name}", name, link_shown(visit, path), good_until, kept.from_on))


def _kept(visit: Visit) -> Away:
    with visit.looking() as db:
        found = load_away(db)
    if found is None or found.to_at(visit.household.zone) <= visit.now_at:
        raise HTTPException(404)
    return found


@router.get(PATH + "/sheet")
def sheet(visit: Helper) -> Response:
    """What is to be done on which day, for the table beside the cellar's door."""
    kept = _kept(visit)
    with visit.looking() as db:
        shown = _plan(visit, db)
        round_, looked = gathered(db, visit.now_at, visit.household).round, look(db, visit.now_at, visit.household)
        shelves = shelf_plans(round_, looked, kept.from_on, kept.to_on)
        photos = _newest_photos(db, [row.wheel.id for shelf in shelves for row in shelf.rows])
    assert shown is not None
    return visit.page(SheetPage("While nobody is here", shown, _by_day(shelves), shelves, photos))


def _by_day(shelves: Sequence[ShelfPlan]) -> list[DayLines]:
    days = sorted({day.on for shelf in shelves for day in shelf.days})
    return [DayLines(on, [(s.name, day) for s in shelves for day in s.days if day.on == on]) for on in days]


def _newest_photos(db: Connection, wheel_ids: Sequence[str]) -> dict[str, str]:
    """The address of the small form of each shelf's and each wheel's newest photo, by place and by wheel."""
    shelves = {place_id: row["small_hash"] for place_id, row in newest_pictures(db).items()}
    # A look at a whole shelf used to be kept with each wheel; its photo is of no wheel in particular.
    own = {str(row["wheel_id"]): row["small_hash"] for row in photos_of(db, wheel_ids) if row["kind"] != "looked"}
    return {of: f"/photos/{small_hash}.jpg" for of, small_hash in (shelves | own).items()}
