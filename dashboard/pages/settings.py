"""How this household wants things, and who is signed in where."""

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import ClassVar
from zoneinfo import available_timezones

from fastapi import APIRouter, HTTPException
from starlette.responses import Response

from collector.errors import EntryRefused
from dashboard import first_start
from dashboard.copies_shown import CopiesShown
from dashboard.forms import Form
from dashboard.household import CHOICES, Household, is_zone
from dashboard.household_kept import save
from dashboard.navigation import Nav
from dashboard.pages import copies
from dashboard.people import sessions
from dashboard.people.sessions import Device
from dashboard.settings import is_origin
from dashboard.telling.phones import end_phones
from dashboard.visit import Guest, Owner, Texts, Visit

router = APIRouter()
NAV = Nav("Settings", "/settings", "settings", "more", 90)


@dataclass(frozen=True, slots=True)
class SettingsPage:
    template: ClassVar[str] = "settings.html"
    title: str
    form: Form
    choices: Mapping[str, Mapping[str, str]]
    zones: tuple[str, ...]
    devices: tuple[Device, ...]
    this_session: str
    may_change: bool
    example_address: str
    copies: CopiesShown


def _page(visit: Visit, form: Form) -> SettingsPage:
    with visit.looking() as db:
        devices = sessions.devices(db, visit.person.id)
    zones = tuple(sorted(available_timezones()))
    return SettingsPage(
        "Settings", form, CHOICES, zones, tuple(devices), visit.session_id, visit.person.may("owner"),
        visit.base_address, copies.shown(visit),
    )  # fmt: skip


@router.get("/settings")
def settings(visit: Guest) -> Response:
    return visit.page(_page(visit, Form(asdict(visit.household))))


@router.post("/settings/household")
def change_household(visit: Owner, texts: Texts) -> Response:
    try:
        chosen = read_household(texts)
    except EntryRefused as refused:
        return visit.refused(_page(visit, Form(texts).wrong(refused.field, str(refused))))
    with visit.changing() as db:
        save(db, chosen)
        onward = "/begin" if first_start.is_open(db) else "/settings"
    return visit.go(onward, "Saved.")


def read_household(texts: Mapping[str, str]) -> Household:
    """The household's choices as typed.

    Raises:
        EntryRefused: the first field that cannot be taken.
    """
    cleaned = {name: texts.get(name, "").strip() for name in asdict(Household())}
    if not is_zone(cleaned["time_zone"]):
        raise EntryRefused("time_zone", f"No such time zone: {cleaned['time_zone']}. Take one from the list.")
    for name, allowed in CHOICES.items():
        if cleaned[name] not in allowed:
            raise EntryRefused(name, "Take one of the choices.")
    if len(cleaned["dairy_name"]) > 60:
        raise EntryRefused("dairy_name", f"Take at most 60 characters; this has {len(cleaned['dairy_name'])}.")
    cleaned["base_address"] = cleaned["base_address"].rstrip("/")
    if cleaned["base_address"] and not is_origin(cleaned["base_address"]):
        raise EntryRefused("base_address", "It must look like https://cave.home.arpa:8443, with nothing behind.")
    return Household(**cleaned)  # type: ignore[arg-type]


@router.post("/settings/sign-ins/{session_id}/end")
def end_sign_in(visit: Guest, session_id: str) -> Response:
    with visit.changing() as db:
        if not sessions.end(db, visit.person.id, session_id):
            raise HTTPException(404)
        told_no_more = end_phones(db, {session_id}, visit.person.name, visit.now_at)
    said = " Warnings no longer go there." if told_no_more else ""
    return visit.go("/settings", f"That device is signed out.{said}")
