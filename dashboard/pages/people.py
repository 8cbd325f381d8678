"""People: who may come in, as what, from when until when; invitations by link and square."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import ClassVar

from fastapi import APIRouter, HTTPException
from starlette.responses import Response

from collector.errors import EntryRefused
from dashboard import words
from dashboard.forms import Form
from dashboard.pages.link_shown import LinkShown, link_shown
from dashboard.people import everybody
from dashboard.people.everybody import GIVEN, Resident
from dashboard.people.links import issue_link
from dashboard.visit import Owner, Texts, Visit

router = APIRouter()
PATH = "/settings/people"
INVITATION = timedelta(days=7)  # our choice: long enough for a message that is read late


@dataclass(frozen=True, slots=True)
class PeoplePage:
    template: ClassVar[str] = "people.html"
    title: str
    people: Sequence[Resident]
    form: Form
    roles: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class PersonPage:
    template: ClassVar[str] = "person.html"
    title: str
    one: Resident
    form: Form
    roles: Mapping[str, str]
    is_over: bool
    is_me: bool


@dataclass(frozen=True, slots=True)
class InvitationPage:
    template: ClassVar[str] = "person_invitation.html"
    title: str
    one: Resident
    link: LinkShown
    good_until: datetime


@router.get(PATH)
def people(visit: Owner) -> Response:
    return visit.page(_list(visit, Form({"role": "helper"})))


def _list(visit: Visit, form: Form) -> PeoplePage:
    with visit.looking() as db:
        found = everybody.everybody(db, visit.now_at)
    return PeoplePage("People", found, form, GIVEN)  # type: ignore[arg-type]


@router.post(PATH)
def add(visit: Owner, texts: Texts) -> Response:
    try:
        new = everybody.given(texts, visit.household, visit.now_at)
        with visit.changing() as db:
            person_id = everybody.add(db, texts.get("name", ""), new, visit.person.name, visit.now_at)
    except EntryRefused as refused:
        return visit.refused(_list(visit, Form(texts).wrong(refused.field, str(refused))))
    return visit.go(f"{PATH}/{person_id}", "Added. Now make the invitation.")


@router.get(PATH + "/{person_id}")
def one_person(visit: Owner, person_id: str) -> Response:
    one = _one(visit, person_id)
    return visit.page(_person(visit, one, _form_of(one, visit)))


def _one(visit: Visit, person_id: str) -> Resident:
    with visit.looking() as db:
        found = everybody.resident(db, person_id, visit.now_at)
    if found is None:
        raise HTTPException(404)
    return found


def _form_of(one: Resident, visit: Visit) -> Form:
    first, after = one.access.from_at, one.access.to_at
    last = after and after - timedelta(milliseconds=1)
    days = {"from": first, "to": None if one.access.is_over(visit.now_at) else last}
    texts = {name: words.local(at, visit.household).date().isoformat() if at else "" for name, at in days.items()}
    return Form({"role": one.role, **texts})


def _person(visit: Visit, one: Resident, form: Form) -> PersonPage:
    is_over = one.access.is_over(visit.now_at)
    return PersonPage(one.name, one, form, GIVEN, is_over, one.id == visit.person.id)  # type: ignore[arg-type]


@router.post(PATH + "/{person_id}")
def change(visit: Owner, person_id: str, texts: Texts) -> Response:
    one = _one(visit, person_id)
    try:
        new = everybody.given(texts, visit.household, visit.now_at)
        with visit.changing() as db:
            everybody.change(db, one, new, visit.person.name, visit.now_at)
    except EntryRefused as refused:
        return visit.refused(_person(visit, one, Form(texts).wrong(refused.field, str(refused))))
    return visit.go(PATH, "Kept.")


@router.post(PATH + "/{person_id}/invitation")
def invite(visit: Owner, person_id: str) -> Response:
    """A new one-time link; it stands on this page and nowhere else, and ends an older one."""
    one = _one(visit, person_id)
    if one.access.is_over(visit.now_at):
        raise HTTPException(404)
    good_until = min(visit.now_at + INVITATION, one.access.to_at or datetime.max.replace(tzinfo=visit.now_at.tzinfo))
    path = issue_link(visit.house.engine, visit.house.clock, one.id, good_until, visit.person.name)
    return visit.page(InvitationPage(f"Invitation for {one.name}", one, link_shown(visit, path), good_until))


@router.post(PATH + "/{person_id}/end")
def end(visit: Owner, person_id: str) -> Response:
    one = _one(visit, person_id)
    try:
        with visit.changing() as db:
            everybody.end(db, one, visit.person.name, visit.now_at)
    except EntryRefused as refused:
        return visit.refused(_person(visit, one, _form_of(one, visit).wrong(refused.field, str(refused))))
    return visit.go(PATH, f"{one.name} cannot come in any more. What was entered stays.")
