"""Copies: where they go, how old the newest is, whether one can be restored."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import ClassVar

from fastapi import APIRouter
from starlette.responses import Response

from collector.automatic_copies import ask_for_copy
from collector.backup import second_place
from collector.copies import wanted
from collector.errors import EntryRefused
from collector.records.life import signs
from dashboard.copies_shown import CopiesShown, copies_shown
from dashboard.forms import Form
from dashboard.second_store_shown import SecondStoreShown, second_store_shown
from dashboard.visit import Owner, Texts, Visit

router = APIRouter()
PATH = "/settings/copies"


@dataclass(frozen=True, slots=True)
class CopiesPage:
    template: ClassVar[str] = "copies.html"
    title: str
    form: Form
    kinds: Mapping[str, str]
    copies: CopiesShown
    folder: str
    second_store: SecondStoreShown | None


def shown(visit: Visit) -> CopiesShown:
    """What is known of the copies."""
    settings = visit.house.settings
    with visit.looking() as db:
        second = second_place.load(db)
        return copies_shown(wanted(settings, second), second, settings.copy_command, signs(db))


def _page(visit: Visit, form: Form) -> CopiesPage:
    folder = visit.house.settings.backup_folder
    with visit.looking() as db:
        second_store = second_store_shown(signs(db))
    return CopiesPage("Copies", form, second_place.KINDS, shown(visit), str(folder) if folder else "", second_store)


@router.get(PATH)
def copies(visit: Owner) -> Response:
    with visit.looking() as db:
        chosen = second_place.load(db)
    return visit.page(_page(visit, Form({"kind": chosen.kind, "where": chosen.where})))


@router.post(PATH)
def change(visit: Owner, texts: Texts) -> Response:
    """Keep the place; a copy is made at once, so that the person sees whether it takes one."""
    try:
        chosen = second_place.checked(texts.get("kind", ""), texts.get("where", ""))
    except EntryRefused as refused:
        return visit.refused(_page(visit, Form(texts).wrong(refused.field, str(refused))))
    with visit.changing() as db:
        second_place.save(db, chosen)
        if chosen:
            ask_for_copy(db, visit.now_at)
    return visit.go(PATH, "Saved. A copy is on its way there; look again in a minute." if chosen else "Saved.")


@router.post(f"{PATH}/now")
def copy_now(visit: Owner) -> Response:
    with visit.changing() as db:
        ask_for_copy(db, visit.now_at)
    return visit.go(PATH, "A copy is being made; look again in a minute.")
