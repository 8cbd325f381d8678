"""Labels for wheels, shelves and boards as a PDF: which, on which sheet."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from fastapi import APIRouter
from sqlalchemy import Connection
from starlette.responses import Response

from collector.errors import EntryRefused
from dashboard import forms, words
from dashboard.places.adding import open_places
from dashboard.rounds.posted import Form, Posted
from dashboard.rounds.row_words import style_word
from dashboard.rounds.shelves import Looked, look
from dashboard.visit import Helper, Visit
from dashboard.wheels import tables
from dashboard.wheels.book import Wheel, gear, living, wheels
from dashboard.wheels.label_sheets import LABEL_SHEETS
from dashboard.wheels.labels_given import Subject, give_label
from dashboard.wheels_shown.naming import place_names

if TYPE_CHECKING:
    from dashboard.wheels.labels import Label

router = APIRouter()
PATH = "/wheels/labels"
FAR_MM = 20.0  # a printer further off than this is set up wrongly
WHAT = {"wheels": "the wheels below", "places": "places: caves, shelves, boxes", "boards": "boards, tubs and jars"}


@dataclass(frozen=True, slots=True)
class Choice:
    """A wheel that can have a label."""

    id: str
    code: str
    about: str


@dataclass(frozen=True, slots=True)
class LabelsPage:
    template: ClassVar[str] = "wheels_labels.html"
    title: str
    form: forms.Form
    wheels: tuple[Choice, ...]
    places: Mapping[str, str]
    sheets: Mapping[str, str]
    place_id: str
    what: Mapping[str, str]


@router.get(PATH)
def choose(visit: Helper, place: str | None = None, wheel: str = "") -> Response:
    form = forms.Form({"sheet": "a4_21", "what": "wheels", "skip": "0"})
    return visit.page(_page(visit, form, place, [wheel] if wheel else []))


def _page(visit: Visit, form: forms.Form, place_id: str | None, ids: list[str]) -> LabelsPage:
    with visit.looking() as db:
        looked = look(db, visit.now_at, visit.household)
        offered = wheels(db, tables.wheel.c.id.in_(ids)) if ids else living(db)
        places = {"": "everywhere", **place_names(db)}
    if place_id is not None and not ids:
        offered = [one for one in offered if not place_id or one.place_id == place_id]
    choices = tuple(Choice(one.id, one.code or "no code", _about(one, looked)[0]) for one in offered)
    sheets = {name: sheet.word for name, sheet in LABEL_SHEETS.items()}
    return LabelsPage("Labels", form, choices, places, sheets, place_id or "", WHAT)


def _about(wheel: Wheel, looked: Looked) -> tuple[str, ...]:
    """What stands small on a wheel's label: its style, its day."""
    made = words.long_date(wheel.made_on, looked.household) if wheel.made_on else ""
    style = style_word(looked.styles.get(wheel.style_id or ""))
    return (", ".join(part for part in (style, made) if part),)


@router.post(PATH)
def printed(visit: Helper, posted: Form) -> Response:
    """The PDF. A thing gets its short code at its first label and keeps it."""
    form = forms.Form(posted.texts)
    try:
        sheet = LABEL_SHEETS.get(form.text("sheet"))
        if sheet is None:
            raise EntryRefused("sheet", "Take one of the sheets.")
        with visit.changing() as db:
            labels = _labels(visit, db, posted)
        if not labels:
            raise EntryRefused("what", "Mark at least one wheel.")
        offset = (_millimetres(form, "right"), _millimetres(form, "down"))
        from dashboard.wheels.labels import label_pdf  # what draws is loaded when something is drawn

        pdf = label_pdf(
            labels, sheet, skip=_skip(form), frames=bool(form.text("frames")), offset_mm=offset
        )  # fmt: skip
    except EntryRefused as refused:
        return visit.refused(_page(visit, form.wrong(refused.field, str(refused)), form.text("place"), []))
    headers = {"Content-Disposition": 'attachment; filename="labels.pdf"', "Cache-Control": "no-store"}
    return Response(pdf, media_type="application/pdf", headers=headers)


def _skip(form: forms.Form) -> int:
    text = form.text("skip").strip() or "0"
    if not (text.isascii() and text.isdigit() and len(text) <= 3):
        raise EntryRefused("skip", f"Give a whole number of labels, got {text[:20]}.")
    return int(text)


def _millimetres(form: forms.Form, name: str) -> float:
    text = form.text(name).strip().replace(",", ".").replace("−", "-") or "0"
    try:
        found = float(text)
    except ValueError as wrong:
        raise EntryRefused(name, f"Give millimetres, got {text[:20]}.") from wrong
    if not -FAR_MM <= found <= FAR_MM:
        raise EntryRefused(name, f"Give at most {FAR_MM:g} mm, got {text[:20]}.")
    return found


def _labels(visit: Visit, db: Connection, posted: Posted) -> list["Label"]:
    looked, what = look(db, visit.now_at, visit.household), posted.texts.get("what", "wheels")
    if what == "places":
        return [_label(visit, db, "place", place.id, (place.name,)) for place, _depth in open_places(db)]
    if what == "boards":
        in_use = gear(db, tables.gear.c.retired.is_(False))
        return [_label(visit, db, "gear", one.id, (one.name or one.gear,)) for one in in_use]
    found = wheels(db, tables.wheel.c.id.in_(list(posted.wheels))) if posted.wheels else []
    return [_label(visit, db, "wheel", one.id, _about(one, looked), one.code) for one in found]


def _label(visit: Visit, db: Connection, of: Subject, id_: str, lines: tuple[str, ...], own: str = "") -> "Label":
    code = give_label(db, of, id_, visit.now_at)
    dairy = (visit.household.dairy_name,) if visit.household.dairy_name else ()
    from dashboard.wheels.labels import Label

    return Label(code, f"{visit.base_address}/w/{code}", own, (*lines, *dairy))
